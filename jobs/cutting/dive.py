"""Whole numbers from the linear program by diving: fix layouts, price anew for what is left, and so on.

(Diving in column generation: Sadykov, Vanderbeck, Pessoa, Tahiri & Uchoa 2019, INFORMS J. Computing 31.) A dive
that cannot reach its goal any more goes back some way, each time another, and chooses anew from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from jobs.cutting.columns import MOST_ROUNDS, Columns
from jobs.cutting.master import Master
from jobs.cutting.pricers import Column, Pricers
from jobs.cutting.strips import StripPricers

ROUNDS_A_STEP = 10
COLUMNS_A_ROUND = 4
ROUNDED_AT_ONCE = 12
# How much of what was fixed is undone after a dead end, in turn.
BACK = (0.125, 0.25, 0.125, 0.5, 0.125, 0.25, 0.125, 1.0)


@dataclass(frozen=True, slots=True)
class Fixed:
    """A layout taken once: the whole one, and what of it was still wanted."""

    whole: Column
    cut: Column


class Dive:
    """One search: `steps` yields after each pricing; `chosen` is what is fixed, all parts covered at a bottom.

    Without a `goal` the first bottom is the last. With one, layouts costing more are not looked for, and the
    dives go on, as often as wanted, until one reaches the goal.
    """

    def __init__(
        self, columns: Columns, pricers: Pricers | StripPricers, goal: int | None = None, seed: int = 0
    ) -> None:
        self.group, self.pricers, self.goal, self.chance = columns.group, pricers, goal, Random(seed)
        self.left = [item.quantity for item in self.group.items]
        self.stock_left = [stock.quantity for stock in self.group.stock]
        wanted = [item.quantity for item in self.group.items]
        is_within = isinstance(pricers, Pricers) and pricers.within is not None
        self.master = Master(self.group)
        self.columns = [
            column
            for column in columns.columns
            if not is_within or all(count <= wanted[item] for item, count in column.counts)
        ]
        self.known = {(column.stock, column.counts) for column in self.columns}
        for column in self.columns:
            self.master.add(column)
        self.per_round = max(1, COLUMNS_A_ROUND // len(self.group.stock))
        self.step = math.gcd(*(stock.cost for stock in self.group.stock if stock.buy)) or 1
        self.chosen: list[Fixed] = []
        self.turns: list[int] = []
        self.dead_ends = 0
        self.first_fixed = 0
        self.failed = False

    def steps(self) -> Iterator[None]:
        """Dive to the bottom."""
        while any(self.left) and not self.failed:
            is_dry = False
            for _ in range(ROUNDS_A_STEP if self.chosen else MOST_ROUNDS):
                is_dry = not self._price()
                if is_dry:
                    break
                yield
            if is_dry and self._cannot_reach_goal():
                self._go_back()
            else:
                self._fix()
                if self.goal is not None and self.spent > self.goal:
                    self._go_back()
            self.first_fixed = self.first_fixed or len(self.chosen)
            yield

    @property
    def spent(self) -> int:
        """What the fixed layouts buy."""
        stock = self.group.stock
        return sum(stock[row.whole.stock].cost for row in self.chosen if stock[row.whole.stock].buy)

    def _cannot_reach_goal(self) -> bool:
        if self.goal is None:
            return False
        return self.spent + math.ceil(self.master.value / self.step - 1e-6) * self.step > self.goal

    def _price(self) -> bool:
        """Price what is left once; whether new layouts came of it."""
        prices, rents = self.master.solve()
        prices = [price if self.left[item] else 0 for item, price in enumerate(prices)]
        rooms = self.pricers.price(prices, self.left)
        gained = False
        for number in range(len(self.group.stock)):
            least = self.master.least(number, rents)
            if self.stock_left[number] == 0 or rooms[number] <= least:
                continue
            for column in self.pricers.columns(number, self.per_round):
                worth = sum(prices[item] * min(count, self.left[item]) for item, count in column.counts)
                gained = (worth > least and self._use(column)) or gained
        return gained

    def _use(self, column: Column) -> bool:
        key = column.stock, column.counts
        if key in self.known:
            return False
        self.known.add(key)
        self.columns.append(column)
        self.master.add(column)
        return True

    def _fix(self) -> None:
        """Take the whole part of every layout's number, or else some of the largest fractions."""
        self.master.solve()
        values = self.master.values()
        self.turns.append(len(self.chosen))
        taken = False
        for value, column in zip(values, self.columns, strict=True):
            for _ in range(int(value + 1e-6)):
                taken = self._take(column) or taken
        if not taken:
            taken = self._round_up(values)
        if not taken:
            self.turns.pop()
            self._give_up()
        self.master.want(self.left, self.stock_left)

    def _round_up(self, values: list[float]) -> bool:
        """Round up the largest fractions that cut nothing twice: one in twelve of what the program takes.

        After dead ends there is some chance in which.
        """
        weights = [
            (-value * (self.chance.uniform(0.5, 1) if self.dead_ends else 1.0), at)
            for at, value in enumerate(values)
            if value > 1e-6
        ]
        most, taken = 1 + int(sum(values) / ROUNDED_AT_ONCE), 0
        for _, at in sorted(weights):
            column = self.columns[at]
            if taken == most:
                break
            if not taken or all(self.left[item] >= count for item, count in column.counts):
                taken += self._take(column)
        return taken > 0

    def _give_up(self) -> None:
        if self.goal is None or not self.chosen:
            self.failed = True
        else:
            self._go_back()

    def _go_back(self) -> None:
        """Undo the last choices, more or fewer of them in turn."""
        if not self.turns:
            self.failed = True
            return
        share = BACK[self.dead_ends % len(BACK)]
        self.dead_ends += 1
        keep = self.turns[min(len(self.turns) - 1, int(len(self.turns) * (1 - share)))]
        del self.turns[self.turns.index(keep) :]
        for row in self.chosen[keep:]:
            for item, count in row.cut.counts:
                self.left[item] += count
            there = self.stock_left[row.whole.stock]
            if there is not None:
                self.stock_left[row.whole.stock] = there + 1
        del self.chosen[keep:]
        self.master.want(self.left, self.stock_left)

    def _take(self, column: Column) -> bool:
        """Fix a layout once; false where nothing in it is wanted any more."""
        there = self.stock_left[column.stock]
        counts = tuple(
            (item, min(count, self.left[item])) for item, count in column.counts if self.left[item]
        )
        if there == 0 or not counts:
            return False
        for item, count in counts:
            self.left[item] -= count
        if there is not None:
            self.stock_left[column.stock] = there - 1
        self.chosen.append(Fixed(column, Column(column.stock, counts)))
        return True
