"""What a sheet is worth at most where each item may be cut only so often: a price for every copy.

For any such prices, the shares of the limits (Lagrangian multipliers), what the programme without limits makes of
the sheet at values less shares, and all shares together, is no less than what can be cut. The best are looked for
by subgradient steps (Held, Wolfe & Crowder 1974, Mathematical Programming 6). On the way each layout without
limits, less what is too much of it, is one that can be cut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

from jobs.cutting.grid import Grid
from jobs.cutting.pricing import Cuts, Halves
from jobs.cutting.search.block_moves import BlockMoves
from jobs.cutting.search.blocks import SCALE
from jobs.cutting.search.cells import Whole

# How many steps, how many without a gain before they get shorter, by what, and when they are too short.
MOST_STEPS, PATIENCE, SHORTER, SHORTEST = 400, 12, 0.6, 0.01


class Shares:
    """The search for shares on one grid.

    `bound` is what no layout is worth more than, `whole` the shares for it, a SCALE-th of a value each; `value` and
    `cuts` are the best layout met.
    """

    def __init__(self, grid: Grid, values: Sequence[int], moves: BlockMoves) -> None:
        self.grid, self.moves = grid, moves
        self.values = np.array(values, dtype=np.int64)
        self.items = np.array([way.item for way in grid.ways], dtype=np.int32)
        self.copies, self.is_limited = _limits(grid, len(values))
        self.best = np.zeros(grid.shape, dtype=np.int64)
        self.written = np.zeros(2 * self.best.size, dtype=np.int64)
        self.stack = np.zeros(4 * sum(grid.shape), dtype=np.int32)
        # Items too small for the grid come on top of anything.
        self.lost = sum(values[way.item] * way.quantity for way in grid.lost)
        self.whole, self.bound, self.value = np.zeros_like(self.values), 1 << 60, 0
        self.cuts: Cuts = None

    def find(
        self,
        end: float,
        clock: Callable[[], float],
        most_steps: int = MOST_STEPS,
        start: Whole | None = None,
    ) -> None:
        """Step towards the best shares, from none or then from some; the first step is taken whatever the time."""
        shares, step, stalled = np.zeros(len(self.values)), 1.0, 0
        for _ in range(most_steps):
            whole = np.rint(shares * SCALE).astype(np.int64)
            total = self.price(whole)
            too_many = np.where(self.is_limited, self._take_layout() - self.copies, 0)
            stalled += 1
            if total // SCALE + self.lost < self.bound:
                self.bound, self.whole, stalled = total // SCALE + self.lost, whole, 0
            too_many[(shares <= 0) & (too_many < 0)] = 0
            if not too_many.any() or self.value >= self.bound or step < SHORTEST or clock() >= end:
                break
            if start is not None:
                shares, start = start / SCALE, None
                continue
            if stalled == PATIENCE:
                shares, step, stalled = self.whole / SCALE, step * SHORTER, 0
            gap = total / SCALE - self.value
            shares = np.clip(shares + step * gap / (too_many**2).sum() * too_many, 0, self.values)

    def price(self, shares: Whole) -> int:
        """Work out the cells at these shares; what no layout is worth more than, in SCALE-ths."""
        self.prices = (self.values * SCALE - shares)[self.items]
        self.best[:, :] = 0
        np.maximum.at(self.best, self.grid.corners[:2], self.prices)
        self.moves.close(self.best, *self.grid.pairs)
        return int(self.best[-1, -1] + (shares * self.copies).sum())

    def _take_layout(self) -> Whole:
        """How often each item is in the layout just priced; what can be cut of it is kept if it is the best."""
        grid = self.grid
        length = self.moves.write_layout(
            self.best, self.prices, grid.corners, grid.pairs, self.written, self.stack
        )
        ways = self.written[:length][self.written[:length] > 0] - 1
        counts = np.bincount(self.items[ways], minlength=len(self.values))
        value = int((self.values * np.minimum(counts, self.copies)).sum())
        if value > self.value:
            self.value, self.cuts = value, self._as_cuts(iter(self.written[:length].tolist()))
        return counts

    def _as_cuts(self, written: Iterator[int]) -> Cuts:
        """The layout written down, without what is too much of an item."""
        left = self.copies.copy()

        def piece() -> Cuts:
            number = next(written)
            if number < 0:
                axis = (-1 - number) % 2
                at = int(self.grid.points[axis][(-1 - number) // 2])
                return Halves(axis, at * self.grid.step, piece(), piece())
            if number == 0 or left[self.items[number - 1]] == 0:
                return None
            left[self.items[number - 1]] -= 1
            return self.grid.given[number - 1]

        return piece()


def _limits(grid: Grid, items: int) -> tuple[Whole, npt.NDArray[np.bool_]]:
    """The copies of each item, and whether more of it would fit on the sheet."""
    copies, fitting = np.zeros(items, dtype=np.int64), np.zeros(items, dtype=np.int64)
    long, wide = grid.size
    for way in grid.ways:
        # Where an item may lie in two ways they mix, at most to what the area holds.
        by_rows, by_area = (long // way.long) * (wide // way.wide), long * wide // (way.long * way.wide)
        fitting[way.item] = by_area if fitting[way.item] else by_rows
        copies[way.item] = way.quantity
    return copies, copies < fitting
