"""A layout of one sheet made more valuable by sawing parts of it anew.

Neighbours in a row are put together to one rectangle again, and what can be cut of it with the copies that the
rest of the layout leaves is looked for as if it were a sheet: a large neighbourhood (Shaw 1998) of which the
search for small sheets finds the best.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from random import Random

from jobs.cutting.builder import Builder
from jobs.cutting.grid import Grid
from jobs.cutting.pricing import Cuts, Halves, Way, leaves
from jobs.cutting.search.block_moves import BlockMoves
from jobs.cutting.search.cells import Whole
from jobs.cutting.shares import Shares

# How often a rectangle further in is chosen, and what is sawn anew at most of the sheet.
DEEPER, LEAST_OF_SHEET, MOST_OF_SHEET = 0.5, 0.05, 0.6
# By what values are changed to find another layout.
CHANGED = 0.8, 1.2
# How many tries in a row may gain nothing; one that was made before counts for a tenth.
QUIET = 40
# What a try may take: steps towards shares, blocks in each cell, blocks joined.
FEW_STEPS, ROOMS, MOST_WORK = 10, (2, 8, 32), 1_000_000

# A rectangle with what is left for it, and what saws one: better cuts than these, or none.
Task = tuple[int, int, tuple[Way, ...]]
Saw = Callable[[Task, Cuts, float, Callable[[], float]], Cuts]


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Part of a layout, with how it is cut."""

    long: int
    wide: int
    cuts: Cuts

    def row(self) -> tuple[int, list[Rectangle]]:
        """The axis along which it is cut first, and all that is cut off along it, side by side."""
        if not isinstance(self.cuts, Halves):
            return 0, [self]
        axis, pieces, waiting = self.cuts.axis, [], [self]
        while waiting:
            piece = waiting.pop()
            if isinstance(piece.cuts, Halves) and piece.cuts.axis == axis:
                waiting += reversed(piece.halves())
            else:
                pieces.append(piece)
        return axis, pieces

    def halves(self) -> tuple[Rectangle, Rectangle]:
        """The two that its first cut leaves."""
        cuts = self.cuts
        assert isinstance(cuts, Halves)
        if cuts.axis == 0:
            return Rectangle(cuts.size, self.wide, cuts.first), Rectangle(
                self.long - cuts.size, self.wide, cuts.second
            )
        return Rectangle(self.long, cuts.size, cuts.first), Rectangle(
            self.long, self.wide - cuts.size, cuts.second
        )


def put_together(axis: int, pieces: Sequence[Rectangle]) -> Rectangle:
    """Rectangles side by side along an axis as one."""
    whole = pieces[-1]
    for piece in reversed(pieces[:-1]):
        if axis == 0:
            cuts = Halves(0, piece.long, piece.cuts, whole.cuts)
            whole = Rectangle(piece.long + whole.long, whole.wide, cuts)
        else:
            cuts = Halves(1, piece.wide, piece.cuts, whole.cuts)
            whole = Rectangle(whole.long, piece.wide + whole.wide, cuts)
    return whole


class Resaw:
    """Saws parts of layouts of one sheet anew; `effort` is how many cuts of cells a try may have."""

    def __init__(
        self, size: tuple[int, int], ways: Sequence[Way], values: Sequence[int], shares: Whole, effort: int,
        moves: BlockMoves,
    ) -> None:  # fmt: skip
        self.size, self.ways, self.values, self.moves = size, ways, values, moves
        self.shares, self.effort = shares, effort
        self.copies = {way.item: way.quantity for way in ways}
        self.chance, self.tries = Random(0), 0
        # The best that is known of a rectangle with so many copies left.
        self.known: dict[Task, tuple[int, Cuts]] = {}

    def improve(self, cuts: Cuts, end: float, clock: Callable[[], float]) -> Cuts:
        """A layout worth more, until so many tries in a row gained nothing."""
        quiet = 0.0
        while quiet < QUIET and clock() < end:
            tries = self.tries
            better = self._resawn(cuts, self._most_valuable, end, clock)
            quiet += 1.0 if self.tries > tries else 0.1
            if better is not None:
                cuts, quiet = better, 0.0
        return cuts

    def shake(self, cuts: Cuts, end: float, clock: Callable[[], float]) -> Cuts:
        """Another layout, worth more or less, to improve from."""
        shaken = self._resawn(cuts, self._another, end, clock)
        return cuts if shaken is None else shaken

    def worth(self, cuts: Cuts) -> int:
        return sum(self.values[way.item] for way in leaves(cuts))

    def _resawn(self, cuts: Cuts, saw: Saw, end: float, clock: Callable[[], float]) -> Cuts:
        """The layout with something in it sawn anew; none where nothing came of it."""
        used = Counter(way.item for way in leaves(cuts))
        path, here = [], Rectangle(*self.size, cuts)
        while True:
            axis, pieces = here.row()
            self.chance.shuffle(pieces)
            inner = [at for at, piece in enumerate(pieces) if isinstance(piece.cuts, Halves)]
            if not inner or self.chance.random() >= DEEPER:
                break
            at = self.chance.choice(inner)
            here = pieces.pop(at)
            path.append((axis, pieces))
        number = self._how_many(pieces)
        before = put_together(axis, pieces[:number])
        used.subtract(way.item for way in leaves(before.cuts))
        task = before.long, before.wide, self._ways_left(before, used)
        better = saw(task, before.cuts, end, clock) if task[2] else None
        if better is None:
            return None
        whole = put_together(axis, [replace(before, cuts=better), *pieces[number:]])
        for axis, others in reversed(path):
            whole = put_together(axis, [whole, *others])
        return whole.cuts

    def _how_many(self, pieces: Sequence[Rectangle]) -> int:
        """How many of a row make one rectangle: one at least, to a random share of the sheet."""
        room = self.chance.uniform(LEAST_OF_SHEET, MOST_OF_SHEET) * self.size[0] * self.size[1]
        number = 0
        while number < len(pieces) and room > 0:
            room -= pieces[number].long * pieces[number].wide
            number += 1
        return number if room >= 0 or number == 1 else number - 1

    def _ways_left(self, piece: Rectangle, used: Counter[int]) -> tuple[Way, ...]:
        return tuple(
            replace(way, quantity=self.copies[way.item] - used[way.item])
            for way in self.ways
            if way.long <= piece.long and way.wide <= piece.wide and used[way.item] < self.copies[way.item]
        )

    def _most_valuable(self, task: Task, cuts: Cuts, end: float, clock: Callable[[], float]) -> Cuts:
        """What is worth more than these cuts in a rectangle; none where that was not found."""
        worth = self.worth(cuts)
        if task not in self.known:
            self.known[task] = self._solved(task, worth, cuts, self.values, end, clock)
        value, better = self.known[task]
        return better if value > worth else None

    def _another(self, task: Task, cuts: Cuts, end: float, clock: Callable[[], float]) -> Cuts:
        """What is worth most at values somewhat changed."""
        changed = [int(value * self.chance.uniform(*CHANGED)) for value in self.values]
        return self._solved(task, 0, None, changed, end, clock)[1]

    def _solved(
        self, task: Task, worth: int, cuts: Cuts, values: Sequence[int], end: float,
        clock: Callable[[], float],
    ) -> tuple[int, Cuts]:  # fmt: skip
        long, wide, ways = task
        grid = Grid((long, wide), ways, self.effort)
        if grid.step > 1:
            return worth, cuts
        self.tries += 1
        shares = Shares(grid, values, self.moves)
        shares.find(end, clock, FEW_STEPS, self.shares)
        builder = Builder(shares)
        builder.start_from(worth, cuts)
        for rooms in ROOMS:
            if builder.value >= builder.bound or not builder.build(rooms, end, clock, MOST_WORK):
                break
        return builder.value, builder.cuts
