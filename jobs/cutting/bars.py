"""Pricing where parts can only lie one behind the other: boards, bars, strips as wide as the stock.

A knapsack along one axis (Gilmore & Gomory 1961) in place of the programme over rectangles: quick, and with no
more copies of a part than are wanted, which proves more and gives layouts that can be taken as they are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from jobs.cutting.pricing import Closing, Cuts, Halves, Way

LONGEST_EXACT = 60_000
# A step over one cell is that much quicker than one over a pair of cuts, and takes a byte for each lot.
EFFORT_A_CELL, MOST_BYTES = 50, 50_000_000


def lone_axis(ways: Sequence[Way], long: int, wide: int) -> int | None:
    """The axis along which all that fits has to lie in one row; None where two parts may lie side by side.

    Sizes include one kerf. 0 where even the two narrowest are too wide together, 1 where they are too long.
    """
    if 2 * min((way.wide for way in ways), default=wide) > wide:
        return 0
    if 2 * min((way.long for way in ways), default=long) > long:
        return 1
    return None


class BarPricer:
    """Does for one row of parts what `pricing.Pricer` does for rectangles, and is asked the same.

    All ways fit, and of two ways to lay an item the shorter along the axis is the only one of use.
    """

    def __init__(self, ways: Sequence[Way], long: int, wide: int, axis: int, effort: int) -> None:
        self.axis, self.ways = axis, _shortest(ways, axis)
        self.length = (long, wide)[axis]
        lots = 1 + sum(way.quantity.bit_length() for way in self.ways.values())
        most = min(max(LONGEST_EXACT, effort // EFFORT_A_CELL), MOST_BYTES // lots)
        # Rounded down, parts and stock alike, where cells are too many: then still an upper bound.
        self.step = -(-self.length // max(1, most))
        self.is_exact = self.step == 1
        self.sizes = {item: self._along(way) // self.step for item, way in self.ways.items()}
        self.blind = {item for item, size in self.sizes.items() if size == 0}
        self.effort = self.length // self.step * lots // EFFORT_A_CELL
        self.prices: Sequence[int] = []
        self.left: dict[int, int] = {}
        self.knapsack = Knapsack([], self.length // self.step)

    def _along(self, way: Way) -> int:
        return (way.long, way.wide)[self.axis]

    def price(
        self, prices: Sequence[int], left: Sequence[int] | None = None, _close: Closing | None = None
    ) -> None:
        """Work out the best value of every length; no more of an item than wanted, or than is left."""
        self.prices = prices
        self.left = {
            item: way.quantity if left is None else min(left[item], way.quantity)
            for item, way in self.ways.items()
        }
        self.knapsack = self._filled(self.left)

    def _filled(self, left: dict[int, int]) -> Knapsack:
        rows = [
            (item, self.sizes[item], self.prices[item], number)
            for item, number in left.items()
            if number and self.prices[item] and self.sizes[item]
        ]
        return Knapsack(rows, self.length // self.step)

    def value(self, long: int, wide: int) -> int:
        """The best value of a row in a piece of this size, kerf included."""
        return int(self.knapsack.best[(long, wide)[self.axis] // self.step])

    def good_cuts(self, long: int, wide: int, most: int) -> Iterator[Cuts]:
        """Up to so many layouts that share no copy of a part, the best first."""
        cells, left, knapsack = (long, wide)[self.axis] // self.step, dict(self.left), self.knapsack
        for number in range(most):
            if number:
                knapsack = self._filled(left)
            counts = knapsack.counts(cells)
            if not counts:
                return
            yield self._in_a_row(counts)
            for item, count in counts.items():
                left[item] -= count

    def _in_a_row(self, counts: Counter[int]) -> Cuts:
        row = sorted(
            (self.ways[item] for item in counts.elements()), key=lambda way: (self._along(way), way.item)
        )
        cuts: Cuts = row[0]
        for way in row[1:]:
            cuts = Halves(self.axis, self._along(way), way, cuts)
        return cuts


def _shortest(ways: Sequence[Way], axis: int) -> dict[int, Way]:
    """For each item the way that is shortest along the axis."""
    chosen: dict[int, Way] = {}
    for way in sorted(ways, key=lambda way: (way.item, (way.long, way.wide)[axis])):
        chosen.setdefault(way.item, way)
    return chosen


class Knapsack:
    """The best value within every number of cells, and what it is made of.

    rows: (item, size in cells, price, copies). Copies are taken in lots of 1, 2, 4 and so on.
    """

    def __init__(self, rows: Sequence[tuple[int, int, int, int]], cells: int) -> None:
        self.lots = [
            (item, size * times, price * times, times)
            for item, size, price, copies in rows
            for times in _lots(min(copies, cells // size))
        ]
        self.best = np.zeros(cells + 1, dtype=np.int64)
        self.took: npt.NDArray[np.bool_] = np.zeros((len(self.lots), cells + 1), dtype=np.bool_)
        # What the first lots are worth together in the whole length, for each number of them.
        self.worth: list[int] = []
        for (_, size, price, _), took in zip(self.lots, self.took, strict=True):
            with_it = self.best[:-size] + price
            np.greater(with_it, self.best[size:], out=took[size:])
            np.maximum(self.best[size:], with_it, out=self.best[size:])
            self.worth.append(int(self.best[-1]))

    def counts(self, cells: int, lots: int | None = None) -> Counter[int]:
        """How often each item is in the best row within so many cells; of the first lots only where told."""
        counts: Counter[int] = Counter()
        for at in range((len(self.lots) if lots is None else lots) - 1, -1, -1):
            if self.took[at, cells]:
                item, size, _, times = self.lots[at]
                counts[item] += times
                cells -= size
        return counts


def _lots(copies: int) -> Iterator[int]:
    """Lots that add up to every number of copies up to this one, and to no more."""
    times = 1
    while copies > 0:
        times = min(times, copies)
        yield times
        copies -= times
        times *= 2
