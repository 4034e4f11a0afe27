"""The most valuable layout of one sheet where each part may be cut only so often, and what none can be worth.

First shares of the limits bound every layout (`shares.py`). Then layouts are built from small blocks to large
(`search/blocks.py`), with room for few blocks in each cell, then for more, until none that could be better is left
out. Sizes too fine for that are rounded to a grid: up for layouts, down for the bound.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from jobs.cutting.builder import Builder
from jobs.cutting.grid import Grid
from jobs.cutting.pricing import Cuts, Way
from jobs.cutting.resaw import Resaw
from jobs.cutting.search.block_moves import BlockMoves, quickest_blocks
from jobs.cutting.shares import Shares

# So that shares of values in 64 bits never run over.
MOST_COPIES, MOST_VALUE = 30_000, 1 << 50
# How many blocks are kept in a cell, to begin with, and how many times more in each pass.
FIRST_ROOMS, MORE_ROOMS = 2, 4
# Above this effort of a pass a first layout comes from a coarser grid.
COARSE_EFFORT, COARSE_STEPS = 10_000_000, 60
# Rectangles sawn anew have so much less effort than the sheet, within these limits.
LEAST_SAWN, MOST_SAWN, LESS_SAWN = 5_000_000, 40_000_000, 5
# How much longer each pass takes than the one before, until it is known, and at least.
FIRST_GROWTH, LEAST_GROWTH = 2.0, 1.2
# What a layout to go on from may be worth of the best.
NEAR = 0.995
# The share of what time is left for a pass, and for sawing parts anew after it.
TIME_TO_BUILD, TIME_TO_SAW = 0.8, 0.4
# The share of the time for finding shares, and of that for finding them roughly first where a pass takes long.
TIME_FOR_SHARES, TIME_FOR_ROUGH = 0.25, 0.3
ROUGH_EFFORT, ROUGHER = 2_500_000, 8


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
    if sum(values[way.item] * way.quantity for way in ways) > MOST_VALUE:
        raise ValueError(f"All parts together must not be worth more than {MOST_VALUE}.")
    start = clock()
    moves = moves or quickest_blocks(time_limit_s)
    ways = [way for way in ways if way.long <= size[0] and way.wide <= size[1]]
    ways = [way for way in ways if way.quantity and values[way.item]]
    if not ways:
        return Fullest(0, 0, None)
    search = Search(size, ways, values, moves)
    search.run(start + time_limit_s, clock, most_rooms)
    return Fullest(search.value, search.bound, search.cuts)


class Search:
    """`value` and `cuts` are the best layout so far; none is worth more than `bound`."""

    def __init__(
        self, size: tuple[int, int], ways: Sequence[Way], values: Sequence[int], moves: BlockMoves
    ) -> None:
        self.size, self.ways, self.values, self.moves = size, ways, values, moves
        lone = max(ways, key=lambda way: values[way.item])
        self.cuts: Cuts = lone
        self.value, self.bound = values[lone.item], 1 << 60

    def run(self, end: float, clock: Callable[[], float], most_rooms: int) -> None:
        """Search until the best layout is proven, cells had so much room, or the time is up."""
        shares = self._shares(TIME_FOR_SHARES * (end - clock()), clock, round_up=True)
        self._take(shares.value, shares.cuts)
        self.bound = shares.bound
        if shares.grid.step > 1:
            under = self._shares(TIME_FOR_SHARES * (end - clock()), clock, round_up=False)
            self.bound = under.bound
        if self.value < self.bound:
            effort = min(max(LEAST_SAWN, shares.grid.effort // LESS_SAWN), MOST_SAWN)
            resaw = Resaw(self.size, self.ways, self.values, shares.whole, effort, self.moves)
            self._build(shares, resaw, end, clock, most_rooms)

    def _shares(self, seconds: float, clock: Callable[[], float], *, round_up: bool) -> Shares:
        """The best shares on the grid, from those on a rougher one where steps take long."""
        grid = Grid(self.size, self.ways, self.moves.effort, round_up=round_up)
        shares = Shares(grid, self.values, self.moves)
        start, started = None, clock()
        if grid.effort > ROUGH_EFFORT:
            rough = Grid(self.size, self.ways, min(grid.effort // ROUGHER, ROUGH_EFFORT), round_up=False)
            first = Shares(rough, self.values, self.moves)
            first.find(started + TIME_FOR_ROUGH * seconds, clock)
            start = first.whole
        shares.find(started + seconds, clock, start=start)
        return shares

    def _take(self, value: int, cuts: Cuts) -> None:
        if value > self.value:
            self.value, self.cuts = value, cuts

    def _build_coarsely(self, fine: int, end: float, clock: Callable[[], float]) -> float:
        """A first layout on a coarse grid: the better it is, the less has to be built on a fine one.

        How long a pass over a grid of this effort may take.
        """
        shares = Shares(Grid(self.size, self.ways, COARSE_EFFORT), self.values, self.moves)
        shares.find(end, clock, COARSE_STEPS)
        builder = Builder(shares)
        started = clock()
        builder.build(FIRST_ROOMS, end, clock)
        self._take(builder.value, builder.cuts)
        return (clock() - started) * fine / shares.grid.effort

    def _build(
        self, shares: Shares, resaw: Resaw, end: float, clock: Callable[[], float], most_rooms: int
    ) -> None:
        """Passes with ever more room while there is time, and after each of them parts sawn anew."""
        rooms, expected, took = FIRST_ROOMS, 0.0, 0.0
        if shares.grid.effort > COARSE_EFFORT:
            # With a good first layout much of a fine grid is never built.
            expected = self._build_coarsely(shares.grid.effort, end, clock) / 4
            self._saw_anew(resaw, end, clock)
        builder = Builder(shares)
        while self.value < self.bound and rooms <= most_rooms and clock() + expected < end:
            builder.start_from(self.value, self.cuts)
            started = clock()
            is_whole = builder.build(rooms, started + TIME_TO_BUILD * (end - started), clock)
            took, before = clock() - started, took
            # Each pass takes more time than the one before, by about the same ratio.
            growth = max(LEAST_GROWTH, took / before) if before else FIRST_GROWTH
            expected = took * growth if is_whole else math.inf
            self._take(builder.value, builder.cuts)
            if shares.grid.step == 1:
                self.bound = max(self.value, min(self.bound, builder.bound))
            rooms *= MORE_ROOMS
            if self.value < self.bound:
                self._saw_anew(resaw, end, clock)
        if rooms <= most_rooms:
            self._shake(resaw, end, clock)

    def _saw_anew(self, resaw: Resaw, end: float, clock: Callable[[], float]) -> None:
        cuts = resaw.improve(self.cuts, clock() + TIME_TO_SAW * (end - clock()), clock)
        self._take(resaw.worth(cuts), cuts)

    def _shake(self, resaw: Resaw, end: float, clock: Callable[[], float]) -> None:
        """Saw parts of layouts that are worth nearly as much as the best anew, as long as there is time."""
        cuts = self.cuts
        while self.value < self.bound and clock() < end:
            cuts = resaw.improve(resaw.shake(cuts, end, clock), end, clock)
            worth = resaw.worth(cuts)
            self._take(worth, cuts)
            if worth < self.value * NEAR:
                cuts = self.cuts
