"""Column generation: layouts as columns of a linear program, priced by dynamic programming.

The program buys fractions of layouts so that all parts are covered and the rack is not used beyond what is
there (Gilmore & Gomory 1961, 1965). Its dual prices are proofs for `bounds`, recomputed in whole numbers;
its columns, where positions are exact, are layouts worth choosing from.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from jobs.cutting.groups import Group
from jobs.cutting.master import Master
from jobs.cutting.pricers import Column, Pricers, programme
from jobs.cutting.pricing import Closing, close_by_rows
from jobs.cutting.problem import Problem
from jobs.cutting.proofs import Proof, cheapest, proof_beyond_the_rack, proof_by_area, to_buy
from jobs.cutting.shortlist import Shortlist

EFFORTS = (1_000_000, 12_000_000, 60_000_000)
MOST_ROUNDS = 200
COLUMNS_A_ROUND = 4
MOST_MIXES_TRIED = 60


class Columns:
    """The program for one group: `rounds` yields after each pricing, `bound` rises, `columns` grow.

    Of a large rack only what is `listed` is laid out piece by piece.
    """

    def __init__(self, problem: Problem, group: Group, listed: Shortlist | None = None) -> None:
        listed = listed or Shortlist(group.stock)
        self.problem, self.first_box = problem, len(listed.stock)
        self.proofs = [proof_by_area(problem, group), proof_beyond_the_rack(problem, group)]
        self.to_buy = to_buy(group)
        # Boxes stand for the rest of the rack: what is laid out on one proves something, and can't be sawn.
        self.group = group = Group(group.items, (*listed.stock, *listed.boxes))
        # The cheapest mix of sheets that no proof refuses; None where there are too many to try.
        self.bound, self.mix = cheapest(self.to_buy, self.proofs)
        self.columns: list[Column] = []
        self.known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self.fresh: list[Column] = []
        self.close: Closing = close_by_rows
        self.exact: Pricers | None = None
        self.effort, self.effort_allowed = 0, float("inf")
        self.master = Master(group)
        self.anchor: list[int] = []
        self.best_value = 0.0
        self.per_round = max(1, COLUMNS_A_ROUND // len(group.stock))
        self.is_bars = all(
            programme(group, stock, problem.kerf, False)[0] is not None for stock in group.stock
        )

    def rounds(self, goal: int | None = None) -> Iterator[None]:
        """Price layouts until nothing more is gained, or the bound reaches the goal; ever finer positions."""
        if not self.to_buy:
            return
        for effort in EFFORTS:
            pricers = Pricers(self.problem, self.group, effort)
            self.effort = pricers.effort
            if pricers.effort > self.effort_allowed:
                return
            self.exact = pricers if pricers.all_exact else None
            self._keep_only_layouts()
            for _ in range(MOST_ROUNDS):
                if goal is not None and self.bound >= goal:
                    return
                more = self._round(pricers)
                yield
                if not more:
                    break
            if len(self.to_buy) > 1:
                yield from self._refuse_mixes(pricers)
            if pricers.all_exact:
                return

    def _keep_only_layouts(self) -> None:
        """Forget columns that were layouts only on a rougher grid: they would hide what a finer one proves."""
        layouts = [column for column in self.columns if column.is_layout]
        self.columns, self.known, self.master = [], set(), Master(self.group)
        for column in layouts:
            self.add(column)

    def add(self, column: Column) -> bool:
        """Let the program use a layout; false where it has it already."""
        key = column.stock, column.counts
        if key in self.known:
            return False
        self.known.add(key)
        self.columns.append(column)
        self.fresh.append(column)
        self.master.add(column)
        return True

    def _round(self, pricers: Pricers) -> bool:
        """Price once; whether new layouts came of it. Prices are first drawn towards the best known ones,
        which saves rounds (Wentges 1997)."""
        self.fresh = []
        prices, rents = self.master.solve()
        prices = [0 if item in pricers.blind else price for item, price in enumerate(prices)]
        if len(self.to_buy) == 1 and self.bound >= self._whole_sheets(self.master.value):
            return False
        drawn = [(near + far) // 2 for near, far in zip(prices, self.anchor or prices, strict=True)]
        pricers.close = self.close
        for tried in (drawn, prices) if drawn != prices else (prices,):
            rooms = pricers.price(tried)
            self._prove(tried, rooms)
            if self._add_columns(pricers, prices, rents, rooms, self.master):
                return True
        return False

    def _add_columns(
        self,
        pricers: Pricers,
        prices: Sequence[int],
        rents: Sequence[int],
        rooms: Sequence[int],
        master: Master,
    ) -> bool:
        """Add the layouts that pay at these prices; whether there were any."""
        gained = False
        for number in range(len(self.group.stock)):
            least = master.least(number, rents)
            if rooms[number] <= least or master.group.stock[number].quantity == 0:
                continue
            for column in pricers.columns(number, self.per_round):
                if number >= self.first_box:
                    column = replace(column, is_layout=False, cuts=None)
                worth = sum(prices[item] * count for item, count in column.counts)
                if worth > least and self.add(column):
                    gained = True
                    if master is not self.master:
                        master.add(column)
        return gained

    def _whole_sheets(self, value: float) -> int:
        """What the sheets cost that a value of the program pays for, rounded up to whole ones."""
        cost = self.to_buy[0].cost
        return math.ceil(value / cost - 1e-6) * cost if cost else 0

    def _prove(self, prices: Sequence[int], rooms: Sequence[int]) -> None:
        """Turn prices into a proof, and keep it where it raises the bound."""
        proof = self._proof(prices, rooms)
        if proof is None:
            return
        value = self._value(proof)
        if value > self.best_value:
            self.best_value, self.anchor = value, list(prices)
        if self.mix is None or proof.refuses(self.mix):
            self._keep(proof)

    def _keep(self, proof: Proof) -> None:
        """Raise the bound by a proof, where it does; a mix of sheets that none refuses costs as much."""
        proofs = [*self.proofs, proof]
        cost, mix = cheapest(self.to_buy, proofs, in_whole_sheets=self.mix is not None)
        if cost > self.bound or mix != self.mix:
            self.bound, self.mix, self.proofs = max(cost, self.bound), mix, proofs

    def _proof(self, prices: Sequence[int], rooms: Sequence[int]) -> Proof | None:
        """What prices prove; None where the rack holds something without end."""
        need = sum(price * item.quantity for price, item in zip(prices, self.group.items, strict=True))
        for stock, room in zip(self.group.stock, rooms, strict=True):
            if not stock.buy and room:
                if stock.quantity is None:
                    return None
                need -= stock.quantity * room
        return Proof(
            need, tuple(room for stock, room in zip(self.group.stock, rooms, strict=True) if stock.buy)
        )

    def _value(self, proof: Proof) -> float:
        """What a proof is worth when sheets are bought by the slice, in the dearest sheet."""
        rates = (stock.cost / room for stock, room in zip(self.to_buy, proof.rooms, strict=True) if room)
        return min(rates, default=0.0) * proof.need

    # ---- one mix of sheets at a time ----

    def _refuse_mixes(self, pricers: Pricers) -> Iterator[None]:
        """Prove of the cheapest mix of sheets that it won't do, then of the next, until one may do.

        Prices that refuse one mix need not suit another: each has a program of its own, which leaves out as
        little as it can (its prices, where something stays left out, are a proof: Farkas 1902).
        """
        for _ in range(MOST_MIXES_TRIED):
            mix = self.mix
            if mix is None:
                return
            yield from self._refuse(mix, pricers)
            if self.mix == mix:
                return

    def _refuse(self, mix: Sequence[int], pricers: Pricers) -> Iterator[None]:
        numbers = iter(mix)
        stock = tuple(
            replace(row, buy=False, quantity=next(numbers)) if row.buy else row for row in self.group.stock
        )
        areas = [item.length * item.width for item in self.group.items]
        master = Master(Group(self.group.items, stock), [area / max(areas) for area in areas])
        for column in self.columns:
            master.add(column)
        for _ in range(MOST_ROUNDS):
            self.fresh = []
            prices, rents = master.solve()
            if master.value < 1e-6:
                return
            prices = [0 if item in pricers.blind else price for item, price in enumerate(prices)]
            rooms = pricers.price(prices)
            proof = self._proof(prices, rooms)
            if proof is not None and proof.refuses(mix):
                self._keep(proof)
                return
            if not self._add_columns(pricers, prices, rents, rooms, master):
                return
            yield
