"""Boards filled a section at a time, as one saws them: crosscut a length, rip it into rows, crosscut the rows.

A rack of many boards is more than the planner's search gets through in seconds. Here a board is taken that gives
most for what it carries, its sections are filled by a small knapsack of rows, and the next board is taken, until
all is cut. What comes out is one more plan: it is checked like any other, and kept only where it is better.
"""

import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from jobs.cutting import objective
from jobs.cutting.check import faults
from jobs.cutting.groups import Group, split, why_left_out
from jobs.cutting.layout import Layout, Node, Plan, Unplaced
from jobs.cutting.problem import Item, Problem, Stock

LOOKED_AT = (1, 3, 8)  # boards that are filled on trial before the best of them is taken, from try to try
MOST_MARKS = 6_000  # of a board's width in the problem's measure: finer, and a knapsack takes too long


@dataclass(frozen=True, slots=True)
class _Row:
    """So many of one item end to end, as wide as it is."""

    item: int
    copies: int


@dataclass(slots=True)
class _Board:
    """A board and its clean stretches, (from, to) along it."""

    stock: Stock
    stretches: list[tuple[int, int]]


_Weighed = tuple[np.ndarray, list[tuple[_Row, np.ndarray]]]  # most area by width, and where each row is taken


class _TooSlow(Exception):  # noqa: N818 - no error: the plan of the search will do
    """The time is up before all is cut."""


def fill_by_sections(
    problem: Problem, until: float, clock: Callable[[], float] = time.monotonic
) -> Plan | None:
    """A plan for boards of the rack that are crosscut first; None where this is no such problem, where there is
    no time, or where it would not pass the check."""
    if problem.first_cut == "rip" or problem.stages in (1, 2) or any(s.buy or s.trim for s in problem.stock):
        return None
    groups, nowhere = split(problem)
    best: Plan | None = None
    if not all(_is_alike(group) for group in groups):
        return None
    for looked_at in LOOKED_AT:
        try:
            layouts = [
                layout
                for group in groups
                for layout in _Filling(problem, group, until, clock).layouts(looked_at)
            ]
        except _TooSlow:
            break
        plan = _plan(problem, groups, layouts, nowhere)
        if not faults(problem, plan):
            best = better(problem, plan, best)
    return best


def better(problem: Problem, one: Plan, other: Plan | None) -> Plan:
    """The better of two plans by the planner's own objective; the first where they are as good."""
    if other is None:
        return one
    worths = [objective.worth(problem, problem.items, plan.layouts) for plan in (one, other)]
    return other if worths[1] < worths[0] else one


def _is_alike(group: Group) -> bool:
    """Whether every item may be of every piece, and the marks of a board's width are few enough."""
    stock = group.stock
    return (
        len({row.grained for row in stock}) == 1
        and max(row.width for row in stock) <= MOST_MARKS
        and all(item.may_be_of(row) for item in group.items for row in stock)
    )


def _plan(problem: Problem, groups: Sequence[Group], layouts: list[Layout], nowhere: list[Unplaced]) -> Plan:
    cut = Counter(leaf.id for layout in layouts for leaf in layout.tree.leaves() if leaf.id)
    left = [
        Unplaced(item.id, item.quantity - cut[item.id], why_left_out(problem, item))
        for group in groups
        for item in group.items
        if cut[item.id] < item.quantity
    ]
    sums = objective.amounts(problem, layouts)
    return Plan(
        layouts=tuple(layouts),
        unplaced=(*nowhere, *left),
        rack_used=problem.money * sums.rack_used,
        kept=problem.money * sums.kept,
        stopped="nothing more to gain",
    )


class _Filling:
    """One group of items and the boards that they share."""

    def __init__(self, problem: Problem, group: Group, until: float, clock: Callable[[], float]) -> None:
        self.problem, self.until, self.clock = problem, until, clock
        self.items = group.items
        self.lies = [_way(item, group.stock[0]) for item in group.items]
        self.left = [item.quantity for item in group.items]
        self.boards = [
            _Board(stock, list(_clean(stock, problem.kerf)))
            for stock in group.stock
            for _ in range(stock.quantity or 0)
        ]
        self.widest = max((stock.width for stock in group.stock), default=0)
        self.longest = max((stock.length for stock in group.stock), default=0)
        self.sections: dict[int, np.ndarray] = {}
        self.known: dict[tuple[int, tuple[int, ...]], _Weighed] = {}

    def layouts(self, looked_at: int) -> Iterator[Layout]:
        """A layout for each board that is taken, until all is cut or nothing fits any more. The best of so many
        that look best is taken."""
        while any(self.left) and self.boards:
            self.known.clear()
            self._weigh_sections(self.longest)
            found = [self._on_trial(board) for board in self._looking_best(looked_at)]
            if not found:
                return
            _, _, board, tree, self.left = max(found, key=lambda one: one[:2])
            self.boards.remove(board)
            yield Layout(board.stock.id, tree)

    def _looking_best(self, count: int) -> list[_Board]:
        """Boards that should give most for what they carry; one of each that are alike."""
        rated = {board.stock.id: (self._score(board), board) for board in self.boards}
        promising = sorted(
            (pair for pair in rated.values() if self._estimate(pair[1])), key=lambda pair: -pair[0]
        )
        return [board for _, board in promising[:count]]

    def _on_trial(self, board: _Board) -> tuple[float, int, _Board, Node, list[int]]:
        """A board filled: the area it gives for what it costs, a number to part ties, and what is left over."""
        before, stock = self.left, board.stock
        self.left = list(before)
        tree, after = self._fill(board), self.left
        self.left = before
        pairs = zip(self.lies, before, after, strict=True)
        given = sum(length * width * (had - has) for (length, width, _), had, has in pairs)
        kept = objective.carried_back(self.problem, stock, objective.kept_area(stock, tree))
        return given / _worth(stock, float(kept)), -self.boards.index(board), board, tree, after

    def _weigh_sections(self, room: int) -> None:
        """For each length up to this of an item that is left: the most area that a section so long gives, by
        its width."""
        if self.clock() > self.until:
            raise _TooSlow
        lengths = {self.lies[n][0] for n, left in enumerate(self.left) if left}
        self.sections = {long: self._weighed(long)[0] for long in lengths if long <= room}

    def _weighed(self, long: int) -> _Weighed:
        """The knapsack of a section so long, kept as long as no board is taken."""
        key = (long, tuple(self.left))
        if key not in self.known:
            self.known[key] = self._knapsack(long)
        return self.known[key]

    def _rows(self, long: int) -> Iterator[tuple[_Row, int]]:
        """The rows that a section so long may be ripped into, each with how many of it there can be."""
        for number, (length, _, _) in enumerate(self.lies):
            if self.left[number] and length <= long:
                copies = min(self.left[number], (long + self.problem.kerf) // (length + self.problem.kerf))
                yield _Row(number, copies), self.left[number] // copies

    def _knapsack(self, long: int) -> _Weighed:
        """The most area by width, and for each row where it is taken."""
        best = np.zeros(self.widest + self.problem.kerf + 1, dtype=np.int64)
        taken = []
        for row, most in self._rows(long):
            length, width, _ = self.lies[row.item]
            wide = width + self.problem.kerf
            for _ in range(min(most, (len(best) - 1) // wide)):
                more = best[:-wide] + length * width * row.copies
                is_more = np.zeros(len(best), dtype=bool)
                is_more[wide:] = more > best[wide:]
                if not is_more.any():
                    break
                best[wide:] = np.maximum(best[wide:], more)
                taken.append((row, is_more))
        return best, taken

    def _best_section(self, room: int, width: int) -> int:
        """The length that gives most of a stretch of this room; 0 where none does."""
        kerf = self.problem.kerf
        rated = [
            (int(best[width + kerf]) / (long + kerf), long)
            for long, best in self.sections.items()
            if long <= room and best[width + kerf] > 0
        ]
        return max(rated)[1] if rated else 0

    def _estimate(self, board: _Board) -> int:
        """The area that a board gives if nothing ran out, and at most what is left."""
        width, kerf, area = board.stock.width, self.problem.kerf, 0
        for start, end in board.stretches:
            room = end - start
            while long := self._best_section(room, width):
                times = (room + kerf) // (long + kerf)
                area += times * int(self.sections[long][width + kerf])
                room -= times * (long + kerf)
        wanted = sum(
            length * wide * left for (length, wide, _), left in zip(self.lies, self.left, strict=True)
        )
        return min(area, wanted)

    def _score(self, board: _Board) -> float:
        return self._estimate(board) / _worth(board.stock)

    # ---- one board ----------------------------------------------------------------------------------------

    def _fill(self, board: _Board) -> Node:
        stock, kerf, at, children = board.stock, self.problem.kerf, 0, []
        for start, end in board.stretches:
            if start > at:
                children.append(self._rest(start - kerf - at, stock.width))
                at = start
            self._weigh_sections(end - at)
            while long := self._best_section(end - at, stock.width):
                children.append(self._section(long, stock.width))
                at += long + kerf
                self._weigh_sections(end - at)
        if stock.length - at > 0:
            children.append(self._rest(stock.length - at, stock.width))
        return Node("cut", cut="crosscut", of=tuple(children))

    def _section(self, long: int, width: int) -> Node:
        kerf = self.problem.kerf
        _, taken = self._weighed(long)
        room, rows = width + kerf, []
        for row, is_more in reversed(taken):
            if is_more[room]:
                rows.append(row)
                room -= self.lies[row.item][1] + kerf
        rows.sort(key=lambda row: (-self.lies[row.item][1], row.item))
        at, children = 0, []
        for row in rows:
            self.left[row.item] -= row.copies
            children.append(self._row(row, long))
            at += self.lies[row.item][1] + kerf
        if width - at > 0:
            children.append(self._rest(width - at, long))
        return Node("cut", long, "rip", tuple(children))

    def _row(self, row: _Row, long: int) -> Node:
        item, (length, width, turned) = self.items[row.item], self.lies[row.item]
        leaf = Node("blank" if item.is_blank else "part", length, id=item.id, turned=turned)
        if length == long:
            return leaf.sized(width)
        of = [leaf] * row.copies
        over = long - row.copies * (length + self.problem.kerf)
        if over > 0:
            of.append(self._rest(over, width))
        return Node("cut", width, "crosscut", tuple(of))

    def _rest(self, size: int, across: int) -> Node:
        keep = self.problem.keep
        return Node("offcut" if keep and keep.takes(size, across) else "waste", size)


def _worth(stock: Stock, kept: float = 0.0) -> float:
    """What a board costs; of those that carry nothing the smaller one costs less."""
    return stock.cost - kept + 1e-9 * stock.length * stock.width + 1e-9


def _way(item: Item, stock: Stock) -> tuple[int, int, bool]:
    """How an item lies on the boards: its longer side along them where it may be turned."""
    return max(item.ways(stock), key=lambda way: way[0])


def _clean(stock: Stock, kerf: int) -> Iterator[tuple[int, int]]:
    """The stretches of a board between its flaws, each beginning a kerf after the cut behind a flaw."""
    start = 0
    for left, right in sorted((flaw.x, flaw.x + flaw.length) for flaw in stock.defects):
        if left > start:
            yield start, left
        start = max(start, right + kerf)
    if stock.length > start:
        yield start, stock.length
