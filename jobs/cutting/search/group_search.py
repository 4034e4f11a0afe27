"""The search for one group of parts: starts, goals ever lower, then the least rack value."""

from __future__ import annotations

from collections.abc import Iterator

from jobs.cutting import objective
from jobs.cutting.groups import Group
from jobs.cutting.layout import Layout
from jobs.cutting.objective import Worth
from jobs.cutting.problem import Item, Problem
from jobs.cutting.search.accelerate import Moves
from jobs.cutting.search.draw_up import layouts_of
from jobs.cutting.search.sheets import Sheet
from jobs.cutting.search.state import table_of
from jobs.cutting.search.walker import NO_CAP, Walker

CHUNK = 25
GOAL_CHUNKS, VALUE_CHUNKS = 40, 20
STALE_CHUNKS = 40


class GroupSearch:
    """Anytime: `rounds` yields after each small piece of work, `best` and `layouts` are the best so far."""

    def __init__(self, problem: Problem, group: Group, bound: int, seed: int, moves: Moves) -> None:
        self.problem, self.group, self.bound = problem, group, bound
        self.walker = Walker(table_of(problem, group.items, group.stock), seed, moves)
        self.layouts: list[Layout] = []
        self.sheets: list[Sheet] = []
        self.best: Worth = objective.worth(problem, group.items, [])
        self.has_value = any(stock.cost for stock in group.stock) and (
            problem.keep is not None or any(not stock.buy and stock.cost for stock in group.stock)
        )

    def rounds(self) -> Iterator[None]:
        """Search until nothing is left to be gained, as far as is known."""
        for _ in self._starts():
            yield
        stale = 0
        while True:
            before = self.best
            if self.best.left_out or self.best.bought > self.bound:
                yield from self._goal()
            elif not self.has_value:
                return
            if self.has_value and not self.best.left_out:
                yield from self._value()
            stale = 0 if self.best < before else stale + 1
            if (
                self.best.bought <= self.bound
                and not self.best.left_out
                and stale * VALUE_CHUNKS >= STALE_CHUNKS
            ):
                return

    def offer(self, sheets: list[Sheet]) -> bool:
        """Keep sheets where they are better than the best so far."""
        layouts = layouts_of(self.walker.table, sheets)
        rated = objective.worth(self.problem, self.group.items, layouts)
        if self.layouts and rated >= self.best:
            return False
        self.best, self.layouts, self.sheets = rated, layouts, sheets
        return True

    def _starts(self) -> Iterator[None]:
        sources = self.walker.table.sources
        to_buy = [number for number, source in enumerate(sources) if source.stock.buy]
        for key in (_area, _longer_side, _shorter_side):
            order = sorted(range(len(self.group.items)), key=lambda at: (-key(self.group.items[at]), at))
            for preferred in to_buy[:6] or [-1]:
                self.walker.start(order, {preferred})
                self.offer(self.walker.sheets())
                yield

    def _goal(self) -> Iterator[None]:
        """Walk below what the best plan buys (or for less left out)."""
        self.walker.aim_below(NO_CAP if self.best.left_out else self.best.bought - 1)
        for _ in range(GOAL_CHUNKS):
            found = self.walker.steps(CHUNK)
            if found or (self.best.left_out and self.walker.left_out):
                self.offer(self.walker.sheets())
            yield
            if found and self.best.bought <= self.bound:
                return
            if found:
                self.walker.aim_below(self.best.bought - 1)

    def _value(self) -> Iterator[None]:
        """Walk among complete plans that buy no more, for less net rack value."""
        self.walker.restore(self.sheets)
        self.walker.aim_for_value(self.best.bought)
        for _ in range(VALUE_CHUNKS):
            if self.walker.steps(CHUNK):
                self.offer(self.walker.sheets())
            yield


def _area(item: Item) -> int:
    return item.length * item.width


def _longer_side(item: Item) -> int:
    return max(item.length, item.width)


def _shorter_side(item: Item) -> int:
    return min(item.length, item.width)
