"""Chooses among all sheets met on the way the cheapest that cover everything: an integer program.

Its linear program comes first, kept from one choice to the next: it tells whether a better choice can be among
them at all, and by its reduced costs which sheets cannot be in one (Dantzig, Fulkerson & Johnson 1954). What is
left for whole numbers is small.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import gcd

import highspy

from jobs.cutting.search.pool import Key, Pool, kept_value
from jobs.cutting.search.sheets import Sheet, without
from jobs.cutting.search.state import Table

# So many sheets are kept to choose from, those of the least reduced cost; so many are put into whole numbers.
MOST_SHEETS, MOST_WHOLE = 24_000, 2_500
# What every sheet costs besides, so that of equal choices the one of fewer sheets is taken.
A_SHEET = 1e-7
# How far off reduced costs may be; and the least by which a choice must be better.
ROUNDING, GAIN = 1e-7, 1e-8


class Choice:
    """The linear program over a pool of sheets; grows with the pool."""

    def __init__(self, pool: Pool) -> None:
        self.pool, self.table = pool, pool.table
        stock = {source.number: source.stock for source in self.table.sources}
        self.stock = stock
        self.limited = [number for number in sorted(stock) if stock[number].quantity is not None]
        self.at_row = {number: len(self.table.items) + at for at, number in enumerate(self.limited)}
        self.dearest = float(max((row.cost for row in stock.values()), default=1) or 1)
        self.step = gcd(*(row.cost for row in stock.values() if row.buy)) or 1
        rack = sum(row.cost * (row.quantity or 1) for row in stock.values() if not row.buy)
        # All value of the rack together counts a twentieth of the least step of a price.
        self.share = min(1.0, 0.05 * self.step / (rack or 1))
        self.most_besides = self.share * rack
        self.keys: list[Key] = []
        self.known: set[Key] = set()
        self.solver = self._empty()

    # ---- the program ----

    def _empty(self) -> highspy.Highs:
        solver = highspy.Highs()
        for option, value in (
            ("output_flag", False),
            ("threads", 1),
            ("mip_rel_gap", 0.0),
            ("mip_abs_gap", 1e-9),
        ):
            solver.setOptionValue(option, value)
        for item in self.table.items:
            solver.addRow(float(item.quantity), highspy.kHighsInf, 0, [], [])
        for number in self.limited:
            solver.addRow(-highspy.kHighsInf, float(self.stock[number].quantity or 0), 0, [], [])
        return solver

    def _add(self, solver: highspy.Highs, keys: Sequence[Key]) -> None:
        items = self.table.items
        for key in keys:
            number, counts = key
            at = [item for item, _ in counts] + ([self.at_row[number]] if number in self.at_row else [])
            values = [float(count) for _, count in counts] + ([1.0] if number in self.at_row else [])
            most = max(-(-items[item].quantity // count) for item, count in counts)
            solver.addCol(self._cost(number, self.pool.value(key)), 0.0, float(most), len(at), at, values)

    def _cost(self, number: int, kept: float) -> float:
        """What a sheet costs that so much is kept of, in the dearest; net rack value counts little."""
        row = self.stock[number]
        cost = row.cost if row.buy else row.cost * self.share
        return (cost - kept * self.share) / self.dearest + A_SHEET

    # ---- choosing ----

    def better_than(self, sheets: Sequence[Sheet], seconds: float, nodes: int) -> list[Sheet]:
        """A choice that buys less than these sheets, or else has less net value; empty where none was found
        within so much time and so many nodes."""
        self._take_fresh()
        before = self.solver.getRunTime()
        self.solver.setOptionValue("time_limit", before + max(0.01, seconds))
        self.solver.run()
        seconds -= self.solver.getRunTime() - before
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return []
        least = self.solver.getInfo().objective_function_value
        limit = self._limit(sheets, least)
        if limit is None:
            return []
        costs = self.solver.getSolution().col_dual
        order = sorted(range(len(self.keys)), key=lambda at: costs[at])
        able = [at for at in order if self.pool.can_draw(self.keys[at])]
        useful = [self.keys[at] for at in able[:MOST_WHOLE] if costs[at] <= limit - least + ROUNDING]
        if len(self.keys) > MOST_SHEETS:
            self._forget([self.keys[at] for at in able[: MOST_SHEETS // 2]])
        return self._in_whole_numbers(useful, limit, seconds, nodes)

    def _limit(self, sheets: Sequence[Sheet], least: float) -> float | None:
        """What a choice must not cost to be better; None where the linear program says that none is."""
        if not sheets:
            return float("inf")
        bought = sum(self._bought(sheet) for sheet in sheets)
        less = (bought - self.step + self.most_besides) / self.dearest + A_SHEET * len(sheets) + GAIN
        if least <= less:
            return less
        numbers = (self.table.sources[sheet.source].number for sheet in sheets)
        kept = (kept_value(self.table, sheet) for sheet in sheets)
        now = sum(self._cost(*pair) for pair in zip(numbers, kept, strict=True))
        return now - GAIN if least < now - GAIN else None

    def _bought(self, sheet: Sheet) -> int:
        stock = self.table.sources[sheet.source].stock
        return stock.cost if stock.buy else 0

    def _take_fresh(self) -> None:
        fresh = [key for key in self.pool.sheets if key not in self.known]
        self._add(self.solver, fresh)
        self.keys += fresh
        self.known.update(fresh)
        self.pool.fresh = 0

    def _forget(self, keep: list[Key]) -> None:
        self.pool.keep_only(keep)
        self.keys, self.known, self.solver = [], set(), self._empty()

    def _in_whole_numbers(self, keys: list[Key], limit: float, seconds: float, nodes: int) -> list[Sheet]:
        solver = self._empty()
        self._add(solver, keys)
        for column in range(len(keys)):
            solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
        solver.setOptionValue("time_limit", max(0.01, seconds))
        solver.setOptionValue("mip_max_nodes", nodes)
        if limit < float("inf"):
            solver.setOptionValue("objective_target", limit)
        solver.run()
        info = solver.getInfo()
        if info.primal_solution_status != 2 or info.objective_function_value > limit:
            return []
        values = solver.getSolution().col_value
        chosen = [key for value, key in zip(values, keys, strict=True) for _ in range(round(value))]
        sheets = [self.pool.sheet(key) for key in chosen]
        found = [sheet for sheet in sheets if sheet is not None]
        if len(found) < len(sheets):
            self._refuse([key for key, sheet in zip(chosen, sheets, strict=True) if sheet is None])
            return []
        return _pruned(self.table, found)

    def _refuse(self, keys: Sequence[Key]) -> None:
        """Never choose these again: they can't be drawn."""
        for key in keys:
            self.solver.changeColBounds(self.keys.index(key), 0.0, 0.0)


def _pruned(table: Table, sheets: list[Sheet]) -> list[Sheet]:
    """Leave out what is cut more often than wanted."""
    surplus: Counter[int] = Counter()
    for sheet in sheets:
        surplus.update(sheet.counts())
    for item, row in enumerate(table.items):
        surplus[item] -= row.quantity
    done = []
    for sheet in sheets:
        drop = Counter(
            {item: min(count, surplus[item]) for item, count in sheet.counts().items() if surplus[item] > 0}
        )
        surplus -= drop
        kept = without(sheet, drop) if drop else sheet
        if kept is not None:
            done.append(kept)
    return done
