"""The most that can be cut from any rectangle when every part has a price, whatever the number of copies.

The unconstrained guillotine dynamic programme (Gilmore & Gomory 1965) on normal positions (Herz 1972;
Christofides & Whitlock 1977), closed under rips and crosscuts in turn. Where there are too many positions
sizes are rounded down to a coarser grid, parts and stock alike: as the sum of rounded parts never exceeds
the rounded whole, the result is then still an upper bound, and no longer a layout.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
LONGEST_EXACT = 60_000


@dataclass(frozen=True, slots=True)
class Way:
    """One way that an item may lie: its number and extents, kerf included."""

    item: int
    long: int
    wide: int
    quantity: int
    turned: bool


@dataclass(frozen=True, slots=True)
class Halves:
    """A rectangle cut in two: along axis 0 (x) or 1 (y), the first of this size, kerf included."""

    axis: int
    size: int
    first: Cuts
    second: Cuts


Cuts = Way | Halves | None


def leaves(cuts: Cuts) -> Iterator[Way]:
    """The items in a layout."""
    waiting = [cuts]
    while waiting:
        cuts = waiting.pop()
        if isinstance(cuts, Way):
            yield cuts
        elif cuts is not None:
            waiting += [cuts.first, cuts.second]


@dataclass(frozen=True, slots=True)
class Axis:
    """Positions along one axis in rising order, and the size of a cell; 1 where positions are exact."""

    points: Whole
    step: int

    def at(self, size: int) -> int:
        """The number of the last position within a size."""
        return int(np.searchsorted(self.points, size // self.step, side="right")) - 1


@dataclass(frozen=True, slots=True)
class CutsAt:
    """The cuts of every position: those from starts[at] to starts[at + 1]. The first piece of each is the smaller
    one, or one of those that only may come first; the second the last position within the rest."""

    firsts: Whole
    seconds: Whole
    starts: Whole

    @classmethod
    def of(cls, points: Whole, only: Whole | None = None) -> CutsAt:
        """All cuts of these positions."""
        ends = np.searchsorted(points, points // 2, side="right")
        pairs = []
        for at, point in enumerate(points):
            firsts = np.arange(1, ends[at]) if only is None else only[: int(np.searchsorted(only, at))]
            pairs.append((firsts, np.searchsorted(points, point - points[firsts], side="right") - 1))
        starts = np.concatenate([[0], np.cumsum([len(firsts) for firsts, _ in pairs])])
        firsts, seconds = (np.concatenate(rows).astype(np.int64) for rows in zip(*pairs, strict=True))
        return cls(firsts, seconds, starts)

    def at(self, position: int) -> tuple[Whole, Whole]:
        """The firsts and seconds of one position."""
        start, stop = self.starts[position], self.starts[position + 1]
        return self.firsts[start:stop], self.seconds[start:stop]


def axes_for(
    size: tuple[int, int], ways: Sequence[Way], effort: int, *, is_alone: bool = False
) -> tuple[Axis, Axis]:
    """Positions along both axes; exact where a pass over all pairs of cuts takes at most this effort.

    Where only rectangles of this one size are asked for (`is_alone`) fewer positions do.
    """
    sides = [[(way.long, way.quantity) for way in ways], [(way.wide, way.quantity) for way in ways]]
    if max(size) <= LONGEST_EXACT:
        along, across = (Axis(_points(one, side, is_alone), 1) for one, side in zip(size, sides, strict=True))
        if _effort(along, across, len(ways)) <= effort:
            return along, across
    cells = round((2 * effort) ** (1 / 3))
    return _rough_axis(size[0], sides[0], cells, is_alone), _rough_axis(size[1], sides[1], cells, is_alone)


def _effort(along: Axis, across: Axis, ways: int) -> int:
    """How many pairs of pieces are tried."""
    one, two = len(along.points), len(across.points)
    if min(one, two) == 2:
        return max(one, two) * ways // 4
    return _pairs(along.points) * two + _pairs(across.points) * one


def _pairs(points: Whole) -> int:
    return int(np.searchsorted(points, points // 2, side="right").sum()) - len(points)


def _rough_axis(longest: int, sizes: Sequence[tuple[int, int]], cells: int, is_alone: bool) -> Axis:
    """Positions on a grid of so many cells."""
    step = _best_step(longest, sizes, cells)
    rounded: dict[int, int] = {}
    for size, quantity in sizes:
        rounded[size // step] = rounded.get(size // step, 0) + quantity
    return Axis(_points(longest // step, list(rounded.items()), is_alone), step)


def _points(longest: int, sizes: Sequence[tuple[int, int]], is_alone: bool) -> Whole:
    """Normal positions; for a piece of the one size alone, those up to its half and what they leave of it.

    Of two pieces the smaller is no larger than a half: it has the size of the row of parts that lies in it, and
    the other all the rest, which is the whole less such sums.
    """
    sums = normal_positions(longest, sizes)
    if not is_alone:
        return sums
    half = sums[: int(np.searchsorted(sums, longest // 2, side="right"))]
    return np.union1d(half, longest - half)


def normal_positions(longest: int, sizes: Sequence[tuple[int, int]]) -> Whole:
    """All sums of at most so many of each size up to the longest, 0 among them."""
    reached, mask = 1, (1 << (longest + 1)) - 1
    for size, quantity in sizes:
        left, times = min(quantity, longest // size if size else 0), 1
        while left > 0:
            times = min(times, left)
            reached |= (reached << (size * times)) & mask
            left -= times
            times *= 2
    bits = np.frombuffer(reached.to_bytes(longest // 8 + 1, "little"), dtype=np.uint8)
    return np.flatnonzero(np.unpackbits(bits, bitorder="little")).astype(np.int64)


def _best_step(longest: int, sizes: Sequence[tuple[int, int]], most: int) -> int:
    """The grid of at most so many steps on which rounding down takes least from the parts."""
    low = max(1, -(-longest // most))
    steps = sorted({max(low, longest // cells) for cells in range(most, most * 2 // 3, -1)} | {low})

    def share(step: int) -> float:
        return sum(size // step * size * quantity for size, quantity in sizes) / max(1, longest // step)

    return max(steps, key=lambda step: (share(step), step))


class Pricer:
    """The programme for one set of ways to lie and one rectangle, and for smaller ones unless it `is_alone`."""

    def __init__(
        self, ways: Sequence[Way], long: int, wide: int, effort: int, *, is_alone: bool = False
    ) -> None:
        self.ways = [way for way in ways if way.long <= long and way.wide <= wide]
        self.along, self.across = axes_for((long, wide), self.ways, effort, is_alone=is_alone)
        # An item that rounds down to nothing would fit for ever: it has no price here.
        self.blind = {
            way.item for way in self.ways if way.long < self.along.step or way.wide < self.across.step
        }
        self.effort = _effort(self.along, self.across, len(self.ways))
        self.is_exact = self.along.step == 1 and self.across.step == 1
        self.corners = [
            (self._first(self.along, way.long), self._first(self.across, way.wide)) for way in self.ways
        ]
        # Where all items fill one axis, cutting off one item at a time is enough.
        self.cuts_along = CutsAt.of(self.along.points, self._firsts(0, len(self.across.points) == 2))
        self.cuts_across = CutsAt.of(self.across.points, self._firsts(1, len(self.along.points) == 2))
        self.drawn: dict[tuple[int, int], Cuts] = {}
        self.by_price: dict[int, list[tuple[Way, tuple[int, int]]]] = {}
        self.best: Whole = np.zeros((len(self.along.points), len(self.across.points)), dtype=np.int64)

    def _firsts(self, axis: int, only_items: bool) -> Whole | None:
        return np.unique([corner[axis] for corner in self.corners]) if only_items and self.corners else None

    @staticmethod
    def _first(axis: Axis, size: int) -> int:
        return int(np.searchsorted(axis.points, size // axis.step, side="left"))

    def price(
        self, prices: Sequence[int], _left: Sequence[int] | None = None, close: Closing | None = None
    ) -> None:
        """Work out the best value of every rectangle at these prices an item, copies without limit."""
        prices = [0 if item in self.blind else price for item, price in enumerate(prices)]
        best, self.by_price, self.drawn = np.zeros_like(self.best), {}, {}
        for way, (i, j) in zip(self.ways, self.corners, strict=True):
            if i < best.shape[0] and j < best.shape[1]:
                best[i, j] = max(best[i, j], prices[way.item])
            self.by_price.setdefault(prices[way.item], []).append((way, (i, j)))
        one, two = self.cuts_along, self.cuts_across
        (close or close_by_rows)(
            best, one.firsts, one.seconds, one.starts, two.firsts, two.seconds, two.starts
        )
        self.best = best

    def value(self, long: int, wide: int) -> int:
        """The best value of a rectangle of this size, kerf included."""
        return int(self.best[self.along.at(long), self.across.at(wide)])

    def cuts(self, long: int, wide: int) -> Cuts:
        """A layout of that value; it can be sawn only where positions are exact."""
        return self._cuts(self.along.at(long), self.across.at(wide))

    def good_cuts(self, long: int, wide: int, most: int) -> Iterator[Cuts]:
        """Up to so many layouts, each with another first cut, the best first."""
        i, j = self.along.at(long), self.across.at(wide)
        sums = []
        for axis, (firsts, seconds) in ((0, self.cuts_along.at(i)), (1, self.cuts_across.at(j))):
            pieces = self.best[:, j] if axis == 0 else self.best[i]
            values = pieces[firsts] + pieces[seconds]
            for k in np.argsort(-values, kind="stable")[:most]:
                sums.append((-int(values[k]), axis, int(firsts[k]), int(seconds[k])))
        if not sums or -min(sums)[0] < int(self.best[i, j]):
            yield self._cuts(i, j)
        for _, axis, first, second in sorted(sums)[:most]:
            if axis == 0:
                yield Halves(0, int(self.along.points[first]), self._cuts(first, j), self._cuts(second, j))
            else:
                yield Halves(1, int(self.across.points[first]), self._cuts(i, first), self._cuts(i, second))

    def _cuts(self, i: int, j: int) -> Cuts:
        """One of the best layouts of a rectangle; rectangles of the same value share one."""
        best, wanted = self.best, int(self.best[i, j])
        if wanted == 0:
            return None
        # Values rise along both axes: the smallest rectangle worth as much has no waste at its edges.
        i = int(best[: i + 1, j].searchsorted(wanted))
        j = int(best[i, : j + 1].searchsorted(wanted))
        if (i, j) not in self.drawn:
            self.drawn[i, j] = self._drawn(i, j, wanted)
        return self.drawn[i, j]

    def _drawn(self, i: int, j: int, wanted: int) -> Cuts:
        best = self.best
        for way, corner in self.by_price.get(wanted, ()):
            if corner[0] <= i and corner[1] <= j:
                return way
        firsts, seconds = self.cuts_along.at(i)
        if len(firsts):
            sums = best[firsts, j] + best[seconds, j]
            k = int(sums.argmax())
            if int(sums[k]) == wanted:
                at, rest = int(firsts[k]), int(seconds[k])
                return Halves(0, int(self.along.points[at]), self._cuts(at, j), self._cuts(rest, j))
        firsts, seconds = self.cuts_across.at(j)
        k = int((best[i, firsts] + best[i, seconds]).argmax())
        at, rest = int(firsts[k]), int(seconds[k])
        return Halves(1, int(self.across.points[at]), self._cuts(i, at), self._cuts(i, rest))


#: Closes a table under cuts, in place: the table, then firsts, seconds and starts of both axes (`CutsAt`).
Closing = Callable[[Whole, Whole, Whole, Whole, Whole, Whole, Whole], None]


def close_by_rows(
    best: Whole,
    firsts: Whole,
    seconds: Whole,
    starts: Whole,
    firsts_up: Whole,
    seconds_up: Whole,
    starts_up: Whole,
) -> None:
    """Whole rows at a time, along either axis in turn until nothing changes."""
    np.maximum.accumulate(best, axis=0, out=best)
    np.maximum.accumulate(best, axis=1, out=best)
    one, two = CutsAt(firsts, seconds, starts), CutsAt(firsts_up, seconds_up, starts_up)
    turned = np.ascontiguousarray(best.T)
    while True:
        _close(turned, two)
        best[:] = turned.T
        before = best.copy()
        _close(best, one)
        if np.array_equal(before, best):
            return
        turned = np.ascontiguousarray(best.T)


def _close(best: Whole, cuts: CutsAt) -> None:
    """Let every rectangle be cut along the first axis, at any position, into two of the best."""
    for at in range(len(best)):
        firsts, seconds = cuts.at(at)
        if len(firsts):
            np.maximum(best[at], (best[firsts] + best[seconds]).max(axis=0), out=best[at])
        if at:
            np.maximum(best[at], best[at - 1], out=best[at])
