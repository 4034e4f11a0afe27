"""The most valuable layout of one sheet where each part may be cut only so often, and what none can be worth.

First shares of the limits bound every layout (`shares.py`). Then layouts are built from small blocks to large
(`search/blocks.py`), with room for few blocks in each cell, then for more, until none that could be better is left
out. Sizes too fine for that are rounded to a grid: up for layouts, down for the bound.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from jobs.cutting.grid import Grid
from jobs.cutting.pricing import Cuts, Halves, Way
from jobs.cutting.search import blocks
from jobs.cutting.search.block_moves import BlockMoves, quickest_blocks
from jobs.cutting.search.blocks import SCALE
from jobs.cutting.shares import Shares

MOST_COPIES = 30_000
MOST_BLOCKS, MOST_ENTRIES = 600_000, 10_000_000
# How many blocks are kept in a cell, to begin with, and how many times more in each pass.
FIRST_ROOMS, MORE_ROOMS = 2, 4
WORK_AT_ONCE = 100_000
TIME_FOR_SHARES = 0.25


@dataclass(frozen=True, slots=True)
class Fullest:
    """A layout, its value, and what no layout can be worth more than."""

    value: int
    bound: int
    cuts: Cuts

    @property
    def is_proven(self) -> bool:
        return self.value == self.bound


def fullest(
    size: tuple[int, int],
    ways: Sequence[Way],
    values: Sequence[int],
    *,
    time_limit_s: float = 10.0,
    clock: Callable[[], float] = time.monotonic,
    most_rooms: int = 1 << 20,
    moves: BlockMoves | None = None,
) -> Fullest:
    """The most valuable layout found of one sheet, by guillotine cuts without a limit on stages.

    `ways` are the ways in which items may lie, with the item's copies as quantity; `values` are by item. Sizes are
    whole numbers and include one kerf. With `most_rooms` the search ends after cells had so much room: where that
    is before the time limit, the clock has no say in what is found. Raises ValueError for sizes, copies or values
    that make no sense.

    >>> ways = [Way(0, 6, 4, 1, False), Way(1, 4, 4, 2, False)]
    >>> found = fullest((10, 8), ways, [30, 18])
    >>> found.value, found.is_proven
    (66, True)
    """
    if min(size) <= 0 or any(way.long <= 0 or way.wide <= 0 for way in ways):
        raise ValueError("A sheet and its parts need sizes above zero.")
    if any(not 0 <= way.quantity <= MOST_COPIES for way in ways) or any(value < 0 for value in values):
        raise ValueError(f"A part needs a value of zero or more, and at most {MOST_COPIES} copies.")
    start = clock()
    moves = moves or quickest_blocks(time_limit_s)
    ways = [way for way in ways if way.long <= size[0] and way.wide <= size[1]]
    ways = [way for way in ways if way.quantity and values[way.item]]
    if not ways:
        return Fullest(0, 0, None)
    end, time_for_shares = start + time_limit_s, TIME_FOR_SHARES * time_limit_s
    shares = Shares(Grid(size, ways, moves.effort), values, moves)
    shares.find(start + time_for_shares, clock)
    bound = None
    if shares.grid.step > 1:
        rounded_down = Shares(Grid(size, ways, moves.effort, round_up=False), values, moves)
        rounded_down.find(clock() + time_for_shares, clock)
        bound = rounded_down.bound
    builder = Builder(shares)
    builder.build(end, clock, most_rooms)
    lone = max(ways, key=lambda way: values[way.item])
    value, cuts = max((builder.value, builder.cuts), (values[lone.item], lone), key=lambda found: found[0])
    return Fullest(value, builder.bound if bound is None else bound, cuts)


class Builder:
    """Passes over one grid: `value` and `cuts` are the best layout, no other on this grid is worth over `bound`."""

    def __init__(self, shares: Shares) -> None:
        self.grid, self.moves, self.shares = shares.grid, shares.moves, shares
        self.value, self.cuts, self.bound = shares.value, shares.cuts, shares.bound
        self.all_shares = shares.price(shares.whole) - int(shares.best[-1, -1])
        self.around = np.zeros_like(shares.best)
        self.moves.value_around(shares.best, self.grid.pairs, self.around)
        self._make_ways()
        self._make_rows()

    def _make_ways(self) -> None:
        """What each way adds to a block; its limited item has a column in the counts and a bit in the mask."""
        shares, items = self.shares, self.shares.items
        limited = np.flatnonzero(shares.is_limited)
        column = np.full(len(shares.values), -1, dtype=np.int32)
        column[limited] = np.arange(len(limited))
        self.scarce = column[items]
        mask = np.array([1 << at % 62 if at >= 0 else 0 for at in self.scarce.tolist()], dtype=np.int64)
        self.worth = shares.prices, shares.values[items], mask
        self.limits = shares.copies[limited].astype(np.uint16)
        # Items cut once clash by their bits alone, where each has one of its own.
        single = [1 << at for at, limit in enumerate(self.limits.tolist()) if limit == 1]
        self.once = sum(single) if len(limited) <= 62 else 0

    def _make_rows(self) -> None:
        long, wide = self.grid.shape
        self.axes = (
            self.grid.points[0].astype(np.int32),
            self.grid.where(0),
            self.grid.points[1].astype(np.int32),
            self.grid.where(1),
        )
        self.cells = np.zeros(long * wide, dtype=np.int32), np.zeros(long * wide, dtype=np.int32)
        self.live = np.zeros((wide, long + 1), dtype=np.int32)
        self.live_here = np.zeros(wide + 1, dtype=np.int32)
        self.entries = np.empty(MOST_ENTRIES, dtype=np.int32)
        self.sums = tuple(np.empty(MOST_BLOCKS, dtype=np.int64) for _ in range(3))
        self.joints = tuple(np.empty(MOST_BLOCKS, dtype=np.int32) for _ in range(3))
        self.counts = np.empty((MOST_BLOCKS, len(self.limits)), dtype=np.uint16)
        self.place = np.zeros(MOST_BLOCKS, dtype=np.int32)

    def build(self, end: float, clock: Callable[[], float], most_rooms: int) -> None:
        """Pass over the cells with ever more room, until the best layout is proven or the time is up."""
        rooms = FIRST_ROOMS
        while self.value < self.bound and rooms <= most_rooms and clock() < end:
            if not self._pass(rooms, end, clock):
                break
            rooms *= MORE_ROOMS

    def _pass(self, rooms: int, end: float, clock: Callable[[], float]) -> bool:
        """One pass with so much room in each cell; false where it had to stop."""
        now = np.zeros(blocks.NUMBERS, dtype=np.int64)
        now[blocks.BEST], now[blocks.BEST_BLOCK] = self.value, -1
        now[blocks.SHARES], now[blocks.ROOMS], now[blocks.ONCE] = self.all_shares, rooms, self.once
        now[blocks.NEED] = (self.value + 1) * SCALE - self.all_shares
        self.live[:, 0] = 0
        kept, work, more = np.zeros(rooms + 1, dtype=np.int32), 0, True
        while more and clock() < end:
            work += WORK_AT_ONCE
            more = self.moves.build(
                work, self.axes, self.grid.corners, self.scarce, self.worth, self.limits, self.shares.best,
                self.around, self.cells, self.live, self.live_here, self.entries, self.sums, self.joints,
                self.counts, kept, self.place, now,
            )  # fmt: skip
        if now[blocks.BEST_BLOCK] >= 0:
            self.value, self.cuts = int(now[blocks.BEST]), self._cuts(int(now[blocks.BEST_BLOCK]))
        if more or now[blocks.CELL] == blocks.FULL:
            return False
        left_out = (int(now[blocks.LEFT_OUT]) + self.all_shares) // SCALE if now[blocks.LEFT_OUT] else 0
        self.bound = max(self.value, min(self.bound, left_out))
        return True

    def _cuts(self, block: int) -> Cuts:
        one, two, how = (int(row[block]) for row in self.joints)
        if two < 0:
            return self.grid.given[one]
        cell, axis = divmod(how, 2)
        at = divmod(cell, self.grid.shape[1])[axis]
        return Halves(
            axis, int(self.grid.points[axis][at]) * self.grid.step, self._cuts(one), self._cuts(two)
        )
