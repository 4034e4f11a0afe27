"""Layouts of one sheet built from small blocks to large, in passes with ever more room for blocks in each cell.

A pass that left out no block that could be better has proven the best layout; another still bounds it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from jobs.cutting.pricing import Cuts, Halves
from jobs.cutting.search import blocks
from jobs.cutting.search.blocks import SCALE
from jobs.cutting.shares import Shares

MOST_BLOCKS, MOST_ENTRIES = 600_000, 10_000_000
WORK_AT_ONCE = 100_000


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

    def start_from(self, value: int, cuts: Cuts) -> None:
        """Look only for what is worth more than this layout."""
        if value > self.value:
            self.value, self.cuts = value, cuts
            self.bound = max(self.bound, value)

    def build(self, rooms: int, end: float, clock: Callable[[], float], most_work: float = math.inf) -> bool:
        """One pass with so much room in each cell; false where it had to stop before its end."""
        now = np.zeros(blocks.NUMBERS, dtype=np.int64)
        now[blocks.BEST], now[blocks.BEST_BLOCK] = self.value, -1
        now[blocks.SHARES], now[blocks.ROOMS], now[blocks.ONCE] = self.all_shares, rooms, self.once
        now[blocks.NEED] = (self.value + 1) * SCALE - self.all_shares
        self.live[:, 0] = 0
        kept, work, more = np.zeros(rooms + 1, dtype=np.int32), 0, True
        while more and work < most_work and clock() < end:
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
