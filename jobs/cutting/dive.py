"""Whole numbers from the linear program by diving: fix layouts, price anew for what is left, and so on.

(Diving in column generation: Sadykov, Vanderbeck, Pessoa, Tahiri & Uchoa 2019, INFORMS J. Computing 31.)
"""

from __future__ import annotations

from collections.abc import Iterator

from jobs.cutting.columns import Column, Columns, Master, Pricers

ROUNDS_A_STEP = 10


class Dive:
    """One dive: `steps` yields after each pricing; `chosen` is then what was fixed, all parts covered."""

    def __init__(self, columns: Columns, pricers: Pricers) -> None:
        self.group, self.pricers = columns.group, pricers
        self.left = [item.quantity for item in self.group.items]
        self.stock_left = [stock.quantity for stock in self.group.stock]
        self.source = list(columns.columns)
        self.chosen: list[tuple[Column, Column]] = []
        self.first_fixed = 0
        self.failed = False

    def steps(self) -> Iterator[None]:
        """Dive to the bottom."""
        master, pairs = self._fresh_master()
        while any(self.left) and not self.failed:
            for _ in range(ROUNDS_A_STEP):
                if not self._price(master, pairs):
                    break
                yield
            master.solve()
            self._fix(master, pairs)
            self.first_fixed = self.first_fixed or len(self.chosen)
            yield
            master, pairs = self._fresh_master()

    def _fresh_master(self) -> tuple[Master, list[tuple[Column, Column]]]:
        """The program for what is left; its columns cut no more than that."""
        master = Master(self.group, self.left, self.stock_left)
        pairs: list[tuple[Column, Column]] = []
        known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        for column in self.source:
            self._use(master, pairs, known, column)
        return master, pairs

    def _use(
        self,
        master: Master,
        pairs: list[tuple[Column, Column]],
        known: set[tuple[int, tuple[tuple[int, int], ...]]],
        column: Column,
    ) -> bool:
        counts = tuple(
            (item, min(count, self.left[item])) for item, count in column.counts if self.left[item]
        )
        key = column.stock, counts
        if not counts or key in known or self.stock_left[column.stock] == 0:
            return False
        known.add(key)
        pairs.append((column, Column(column.stock, counts)))
        master.add(pairs[-1][1])
        return True

    def _price(self, master: Master, pairs: list[tuple[Column, Column]]) -> bool:
        prices, rents = master.solve()
        prices = [price if self.left[item] else 0 for item, price in enumerate(prices)]
        rooms = self.pricers.price(prices)
        known = {(pair[1].stock, pair[1].counts) for pair in pairs}
        gained = False
        for number in range(len(self.group.stock)):
            least = master.least(number, rents)
            if rooms[number] <= least:
                continue
            for column in self.pricers.columns(number, 1):
                worth = sum(prices[item] * min(count, self.left[item]) for item, count in column.counts)
                if worth > least and self._use(master, pairs, known, column):
                    self.source.append(column)
                    gained = True
        return gained

    def _fix(self, master: Master, pairs: list[tuple[Column, Column]]) -> None:
        """Take the whole part of every layout's number, or one of the largest fraction."""
        values = master.values()
        whole = [(int(value + 1e-6), pair) for value, pair in zip(values, pairs, strict=True)]
        fixed = [(times, pair) for times, pair in whole if times]
        if not fixed:
            at = max(range(len(pairs)), key=lambda at: values[at], default=-1)
            if at < 0 or values[at] < 1e-6:
                self.failed = True
                return
            fixed = [(1, pairs[at])]
        for times, pair in fixed:
            for _ in range(times):
                self._take(pair)

    def _take(self, pair: tuple[Column, Column]) -> None:
        stock = self.stock_left[pair[1].stock]
        if stock == 0:
            return
        counts = tuple(
            (item, min(count, self.left[item])) for item, count in pair[1].counts if self.left[item]
        )
        if not counts:
            return
        for item, count in counts:
            self.left[item] -= count
        if stock is not None:
            self.stock_left[pair[1].stock] = stock - 1
        self.chosen.append((pair[0], Column(pair[1].stock, counts)))
