"""Chooses among all sheets met on the way the cheapest that cover everything: an integer program."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import gcd

import highspy

from jobs.cutting.search.kernel import ITEM_FREE
from jobs.cutting.search.sheets import Sheet, without
from jobs.cutting.search.state import Table

MOST_SHEETS = 1500
Counts = tuple[tuple[int, int], ...]


@dataclass(slots=True)
class Pool:
    """Good sheets, one for each stock and what is cut from it: the one that leaves most to keep."""

    table: Table
    sheets: dict[tuple[int, Counts], tuple[float, Sheet]] = field(default_factory=dict)
    fresh: int = 0

    def add(self, sheet: Sheet) -> None:
        """Keep a sheet where it is new, or leaves more than the one that is there."""
        key = self.table.sources[sheet.source].number, tuple(sorted(sheet.counts().items()))
        if not key[1]:
            return
        kept = kept_value(self.table, sheet)
        known = self.sheets.get(key)
        if known is None or known[0] < kept:
            self.fresh += known is None
            self.sheets[key] = kept, sheet


def kept_value(table: Table, sheet: Sheet) -> float:
    """What the leftovers of a sheet carry back, before they are tidied up."""
    problem, stock = table.problem, table.sources[sheet.source].stock
    if problem.keep is None:
        return 0.0
    area = 0
    for _, kind, long, wide, axis, free, _ in sheet.rows:
        if kind <= ITEM_FREE and free > problem.kerf:
            one, two = free - problem.kerf, (wide if axis == 0 else long) - problem.kerf
            if problem.keep.takes(one, two):
                area += one * two
    return float(problem.keep.rate) * stock.cost * area / (stock.length * stock.width)


def cheapest_cover(pool: Pool, seconds: float, nodes: int) -> list[Sheet]:
    """The cheapest choice that was found within so much time and so many nodes; empty where there is none."""
    table = pool.table
    rows = sorted(pool.sheets.items(), key=lambda row: _waste(table, row[0]))[:MOST_SHEETS]
    solver = _program(table, [(key, kept) for key, (kept, _) in rows])
    solver.setOptionValue("time_limit", max(0.01, seconds))
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.run()
    if solver.getInfo().primal_solution_status != 2:
        return []
    values = solver.getSolution().col_value
    chosen = [sheet for value, (_, (_, sheet)) in zip(values, rows, strict=True) for _ in range(round(value))]
    return _pruned(table, chosen)


def _waste(table: Table, key: tuple[int, Counts]) -> float:
    stock = next(source.stock for source in table.sources if source.number == key[0])
    used = sum(table.items[item].length * table.items[item].width * count for item, count in key[1])
    return 1 - used / (stock.length * stock.width)


def _program(table: Table, rows: list[tuple[tuple[int, Counts], float]]) -> highspy.Highs:
    solver = highspy.Highs()
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 1e-9),
    ):
        solver.setOptionValue(option, value)
    for item in table.items:
        solver.addRow(float(item.quantity), highspy.kHighsInf, 0, [], [])
    stock = {source.number: source.stock for source in table.sources}
    limited = {number: at for at, number in enumerate(sorted(stock)) if stock[number].quantity is not None}
    at_row = {number: len(table.items) + at for at, number in enumerate(limited)}
    for number in limited:
        solver.addRow(-highspy.kHighsInf, float(stock[number].quantity or 0), 0, [], [])
    dearest = float(max(row.cost for row in stock.values()) or 1)
    share = _share_of_net_value(table)
    for (number, counts), kept in rows:
        row = stock[number]
        cost = ((row.cost if row.buy else row.cost * share) - kept * share) / dearest + 1e-7
        at = [item for item, _ in counts] + ([at_row[number]] if number in at_row else [])
        values = [float(count) for _, count in counts] + ([1.0] if number in at_row else [])
        most = max(-(-table.items[item].quantity // count) for item, count in counts)
        solver.addCol(cost, 0.0, float(most), len(at), at, values)
    for column in range(len(rows)):
        solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
    return solver


def _share_of_net_value(table: Table) -> float:
    """How much rack value counts against money: all of the rack together less than the least step of a price."""
    stock = {source.number: source.stock for source in table.sources}.values()
    step = gcd(*(row.cost for row in stock if row.buy)) or 1
    rack = sum(row.cost * (row.quantity or 1) for row in stock)
    return min(1.0, 0.5 * step / (rack or 1))


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
