"""Layouts of strips for a given price of every part: sawn into strips, these into stacks of equal parts.

Two knapsacks after each other (Gilmore & Gomory 1965), exact however fine the sizes are, where the programme
over rectangles has to round them. Good layouts for orders of many copies, and no proof: others may hold more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobs.cutting.bars import LONGEST_EXACT, Knapsack
from jobs.cutting.groups import Group
from jobs.cutting.pricers import Column, ways_on
from jobs.cutting.pricing import Cuts, Halves, Way, leaves
from jobs.cutting.problem import Problem

MOST_STOCK = 12


@dataclass(frozen=True, slots=True)
class Stack:
    """So many of a part one beside the other across a strip; `along` the strip and `across` it, with kerf."""

    way: Way
    times: int
    along: int
    across: int


class StripPricers:
    """Asked like `columns.Pricers`; `can_price` says whether sizes are short enough to count out."""

    def __init__(self, problem: Problem, group: Group) -> None:
        sizes = [(row.usable[0] + problem.kerf, row.usable[1] + problem.kerf) for row in group.stock]
        self.can_price = len(sizes) <= MOST_STOCK and max(map(max, sizes), default=0) <= LONGEST_EXACT
        self.quantities = [item.quantity for item in group.items]
        self.sheets = [
            [_Sheet(ways_on(group, stock, problem.kerf), size, axis) for axis in (1, 0)]
            for stock, size in zip(group.stock, sizes, strict=True)
            if self.can_price
        ]

    def price(self, prices: Sequence[int], left: Sequence[int] | None = None) -> list[int]:
        """What the best layouts of strips on each stock are worth."""
        left = self.quantities if left is None else left
        for sheets in self.sheets:
            for sheet in sheets:
                sheet.price(prices, left)
        return [max(sheet.value for sheet in sheets) for sheets in self.sheets]

    def columns(self, number: int, most: int) -> Iterator[Column]:
        """The best layout of rips, and the best of crosscuts; at most so many."""
        for sheet in sorted(self.sheets[number], key=lambda sheet: -sheet.value)[:most]:
            cuts = sheet.cuts()
            counts = Counter(way.item for way in leaves(cuts))
            if counts:
                yield Column(number, tuple(sorted(counts.items())), True, cuts)


class _Sheet:
    """One stock, its strips cut off along one axis."""

    def __init__(self, ways: Sequence[Way], size: tuple[int, int], axis: int) -> None:
        self.axis, self.length, self.room = axis, size[1 - axis], size[axis]
        self.stacks = sorted(_stacks(ways, size, axis), key=lambda stack: (stack.across, stack.way.item))
        self.value = 0
        self.strip = Knapsack([], self.length)
        self.sheet = Knapsack([], self.room)
        self.strips: list[tuple[int, Counter[int]]] = []

    def price(self, prices: Sequence[int], left: Sequence[int]) -> None:
        """The best strip of every width, then the best strips for the sheet."""
        rows = [
            (at, stack.along, prices[stack.way.item] * stack.times, left[stack.way.item] // stack.times)
            for at, stack in enumerate(self.stacks)
            if prices[stack.way.item] and left[stack.way.item] >= stack.times
        ]
        self.strip = Knapsack(rows, self.length)
        self.strips = self._strips()
        rows = [
            (at, width, self._worth(counts, prices), self._copies(counts, left))
            for at, (width, counts) in enumerate(self.strips)
        ]
        self.sheet = Knapsack(rows, self.room)
        self.value = int(self.sheet.best[-1])

    def _strips(self) -> list[tuple[int, Counter[int]]]:
        """Width and stacks of every strip that is worth more than all narrower ones."""
        found, best, lots = [], 0, self.strip.lots
        for number, (at, *_) in enumerate(lots, 1):
            width = self.stacks[at].across
            is_last = number == len(lots) or self.stacks[lots[number][0]].across > width
            if is_last and self.strip.worth[number - 1] > best:
                best = self.strip.worth[number - 1]
                found.append((width, self.strip.counts(self.length, number)))
        return found

    def _worth(self, counts: Counter[int], prices: Sequence[int]) -> int:
        stacks = ((self.stacks[at], number) for at, number in counts.items())
        return sum(prices[stack.way.item] * stack.times * number for stack, number in stacks)

    def _copies(self, counts: Counter[int], left: Sequence[int]) -> int:
        """How often a strip can be cut before a part in it is no longer wanted; once, in any case."""
        parts: Counter[int] = Counter()
        for at, number in counts.items():
            parts[self.stacks[at].way.item] += number * self.stacks[at].times
        return max(1, min(left[item] // number for item, number in parts.items()))

    def cuts(self) -> Cuts:
        """The layout of that value."""
        cuts: Cuts = None
        for at in self.sheet.counts(self.room).elements():
            width, counts = self.strips[at]
            cuts = Halves(self.axis, width, self._strip_cuts(counts), cuts)
        return cuts

    def _strip_cuts(self, counts: Counter[int]) -> Cuts:
        cuts: Cuts = None
        for at in counts.elements():
            stack = self.stacks[at]
            cuts = Halves(1 - self.axis, stack.along, self._stack_cuts(stack), cuts)
        return cuts

    def _stack_cuts(self, stack: Stack) -> Cuts:
        cuts: Cuts = stack.way
        for _ in range(stack.times - 1):
            cuts = Halves(self.axis, stack.across // stack.times, stack.way, cuts)
        return cuts


def _stacks(ways: Sequence[Way], size: tuple[int, int], axis: int) -> Iterator[Stack]:
    """All stacks that fit the stock, each way of each item."""
    for way in ways:
        along, across = (way.long, way.wide) if axis == 1 else (way.wide, way.long)
        if along <= size[1 - axis]:
            for times in range(1, min(way.quantity, size[axis] // across) + 1):
                yield Stack(way, times, along, across * times)
