"""Good layouts at given prices with no more copies of a part than are wanted; no bound, others may hold more.

The programme of `pricing` keeps for each rectangle one layout of those worth most. Here two pieces may only
come together where they do not cut a part too often (as Hifi 1997 does, without going back to other layouts).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np

from jobs.cutting.pricing import Closing, Cuts, Halves, Pricer, Way, Whole
from jobs.cutting.search.closing import ACROSS, ALONG, ITEM, NARROWER, SMALLER

BITS = 62

#: Closes a table within limits, in place: see `closing.close_within`.
Within = Callable[..., None]


class WithinPricer:
    """The programme for one set of ways to lie and one rectangle; asked like `pricing.Pricer`."""

    def __init__(self, ways: Sequence[Way], long: int, wide: int, effort: int, within: Within) -> None:
        self.base, self.within = Pricer(ways, long, wide, effort, is_alone=True), within
        self.ways, self.is_exact, self.blind = self.base.ways, self.base.is_exact, self.base.blind
        self.effort = self.base.effort
        # What one copy is wanted of comes first: it is compared as bits of a mask.
        copies = {way.item: way.quantity for way in self.ways}
        items = sorted(copies, key=lambda item: (copies[item] > 1, item))
        self.numbers = {item: number for number, item in enumerate(items)}
        self.scarce = min(BITS, sum(number == 1 for number in copies.values()))
        shape = self.base.best.shape
        self.best: Whole = np.zeros(shape, dtype=np.int64)
        self.held = np.zeros((*shape, len(items) + 1), dtype=np.int64)
        self.how = np.zeros((*shape, 3), dtype=np.int32)

    def price(
        self, prices: Sequence[int], left: Sequence[int] | None = None, _close: Closing | None = None
    ) -> None:
        """Work out a good layout of every rectangle; no more of an item than wanted, or than is left."""
        limits = np.zeros(len(self.numbers), dtype=np.int64)
        for table in (self.best, self.held, self.how):
            table[...] = 0
        for at, (way, corner) in enumerate(zip(self.ways, self.base.corners, strict=True)):
            wanted = way.quantity if left is None else min(left[way.item], way.quantity)
            number = self.numbers[way.item]
            limits[number] = wanted
            if wanted and prices[way.item] > self.best[corner]:
                self.best[corner], self.how[corner] = prices[way.item], (ITEM, at, 0)
                self.held[corner] = 0
                self.held[corner[0], corner[1], number] = 1
                self.held[corner[0], corner[1], -1] = 1 << number if number < self.scarce else 0
        one, two = self.base.cuts_along, self.base.cuts_across
        self.within(
            self.best, self.held, self.how, limits, self.scarce,
            one.firsts, one.seconds, one.starts, two.firsts, two.seconds, two.starts,
        )  # fmt: skip

    def value(self, _long: int, _wide: int) -> int:
        """The value of the layout of the whole rectangle."""
        return int(self.best[-1, -1])

    def good_cuts(self, _long: int, _wide: int, most: int) -> Iterator[Cuts]:
        """The layout of the whole rectangle."""
        if most and self.best[-1, -1]:
            yield self._cuts(self.best.shape[0] - 1, self.best.shape[1] - 1)

    def _cuts(self, i: int, j: int) -> Cuts:
        kind, one, two = map(int, self.how[i, j])
        while kind in (SMALLER, NARROWER):
            i, j = (i - 1, j) if kind == SMALLER else (i, j - 1)
            kind, one, two = map(int, self.how[i, j])
        if kind == ITEM:
            return self.ways[one]
        if kind == ALONG:
            return Halves(0, self._point(self.base.along, one), self._cuts(one, j), self._cuts(two, j))
        if kind == ACROSS:
            return Halves(1, self._point(self.base.across, one), self._cuts(i, one), self._cuts(i, two))
        return None

    @staticmethod
    def _point(axis: Any, at: int) -> int:
        return int(axis.points[at])
