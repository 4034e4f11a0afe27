"""Plans a problem: anytime, the same for the same seed, with a proven bound on what must be bought."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from jobs.cutting import objective
from jobs.cutting.check import faults
from jobs.cutting.groups import Group, split, why_left_out
from jobs.cutting.layout import Layout, Plan, Progress, Unplaced
from jobs.cutting.problem import Item, Problem
from jobs.cutting.proofs import cheapest, proof_by_area, to_buy
from jobs.cutting.search.accelerate import PLAIN, Moves, quickest
from jobs.cutting.search.group_search import GroupSearch
from jobs.cutting.search.many_search import search_for


class UnsoundPlanError(RuntimeError):
    """The search returned a plan that the checker refuses: a fault of the planner, never of the problem."""


def solve(
    problem: Problem,
    *,
    time_limit_s: float | None = None,
    seed: int | None = None,
    clock: Callable[[], float] = time.monotonic,
    progress: Callable[[Progress], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    iterations: int | None = None,
    moves: Moves | None = None,
) -> Plan:
    """The best plan found within the time limit (the problem's own where none is given).

    With `iterations` that many rounds of work are done whatever the clock says, so that the same seed gives
    the same plan on every machine. `cancelled` is asked often; when it says yes, the best so far is returned.
    `moves` are compiled where they are ready; plain ones give the same plan more slowly.
    """
    limit = problem.time_limit_s if time_limit_s is None else time_limit_s
    watch = _Watch(clock, limit, iterations, cancelled)
    groups, unplaced = split(problem)
    # Compiled moves are loaded only once a first plan is there: that takes a second.
    chosen = quickest if moves is None else lambda _: moves
    chunk = None if iterations is None else PLAIN.chunk
    searches = [search_for(problem, group, _seed(problem, seed), chosen, chunk) for group in groups]
    _search_all(problem, searches, watch, progress)
    plan = _plan(problem, searches, unplaced, watch)
    found = faults(problem, plan)
    if found:
        raise UnsoundPlanError("; ".join(found[:5]))
    return plan


def _seed(problem: Problem, seed: int | None) -> int:
    return problem.seed if seed is None else seed


@dataclass(slots=True)
class _Watch:
    """When to stop, and why."""

    clock: Callable[[], float]
    limit: float
    iterations: int | None
    cancelled: Callable[[], bool] | None
    started: float = 0.0
    rounds: int = 0
    stopped: str = ""

    def __post_init__(self) -> None:
        self.started = self.clock()

    @property
    def seconds(self) -> float:
        return self.clock() - self.started

    def seconds_left(self, share: float) -> float:
        """How long one step may take at most."""
        return float("inf") if self.iterations is not None else self.limit * share - self.seconds

    def is_over(self, share: float) -> bool:
        """Whether this share of the time, or of the rounds, is used up."""
        if self.cancelled is not None and self.cancelled():
            self.stopped = "cancelled"
        elif self.iterations is not None:
            return self.rounds >= self.iterations * share
        elif self.seconds >= self.limit * share:
            self.stopped = "time limit"
        else:
            return False
        return True


def _search_all(
    problem: Problem,
    searches: list[GroupSearch],
    watch: _Watch,
    progress: Callable[[Progress], None] | None,
) -> None:
    """A first plan for every group, then each in turn with its share of the time."""
    rounds = [search.rounds() for search in searches]
    open_ones = [pair for pair in zip(searches, rounds, strict=True) if next(pair[1], _DONE) is not _DONE]
    done, pieces = 0, sum(search.group.pieces for search, _ in open_ones)
    for search, more in reversed(open_ones):
        done += search.group.pieces
        _search_one(problem, searches, search, more, watch, progress, done / pieces)


_DONE = object()


def _search_one(
    problem: Problem,
    searches: Sequence[GroupSearch],
    search: GroupSearch,
    more: Iterator[None],
    watch: _Watch,
    progress: Callable[[Progress], None] | None,
    share: float,
) -> None:
    told = None
    while not watch.is_over(share):
        search.seconds_left = watch.seconds_left(share)
        if next(more, _DONE) is _DONE:
            return
        watch.rounds += 1
        if progress is not None and (search.best, search.bound) != told:
            told = search.best, search.bound
            progress(_progress(problem, searches, watch))


def _progress(problem: Problem, searches: Sequence[GroupSearch], watch: _Watch) -> Progress:
    layouts = [layout for search in searches for layout in search.layouts]
    missing = sum(search.group.pieces for search in searches) - sum(_cut(layouts).values())
    return Progress(
        seconds=watch.seconds,
        bought=problem.money * sum(search.best.bought for search in searches),
        bound=problem.money * sum(search.bound for search in searches),
        unplaced=missing,
        layouts=sum(layout.count for layout in layouts),
    )


def _cut(layouts: Sequence[Layout]) -> Counter[str]:
    """How often each item is cut."""
    cut: Counter[str] = Counter()
    for layout in layouts:
        for leaf in layout.tree.leaves():
            if leaf.id:
                cut[leaf.id] += layout.count
    return cut


def _plan(problem: Problem, searches: list[GroupSearch], unplaced: list[Unplaced], watch: _Watch) -> Plan:
    layouts = [layout for search in searches for layout in search.layouts]
    cut = _cut(layouts)
    left = [
        Unplaced(item.id, item.quantity - cut[item.id], why_left_out(problem, item))
        for search in searches
        for item in search.group.items
        if cut[item.id] < item.quantity
    ]
    sums = objective.amounts(problem, layouts)
    bound = sum(_bound(problem, search, cut) for search in searches)
    return Plan(
        layouts=tuple(_in_saw_order(problem, layouts)),
        unplaced=(*unplaced, *left),
        bought=problem.money * sums.bought,
        rack_used=problem.money * sums.rack_used,
        kept=problem.money * sums.kept,
        bought_bound=problem.money * bound,
        seconds=watch.seconds,
        stopped=watch.stopped or "nothing more to gain",
    )


def _bound(problem: Problem, search: GroupSearch, cut: Counter[str]) -> int:
    """The group's bound; where parts had to be left out, one for what is cut."""
    if all(cut[item.id] == item.quantity for item in search.group.items):
        return search.bound
    items: list[Item] = [replace(item, quantity=cut[item.id]) for item in search.group.items]
    group = Group(tuple(items), search.group.stock)
    return cheapest(to_buy(group), [proof_by_area(problem, group)])[0]


def _in_saw_order(problem: Problem, layouts: list[Layout]) -> list[Layout]:
    """Offcuts and sheets of the rack first, then what is bought, as the problem lists them."""
    rank = {stock.id: (stock.buy, number) for number, stock in enumerate(problem.stock)}
    return sorted(layouts, key=lambda layout: rank[layout.stock])
