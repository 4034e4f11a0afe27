"""The moves of the search, plain or compiled to machine code: the same functions, the same results.

Compiling takes half a minute for each version of the code, which no one who waits for a plan should pay: it is
done ahead, in a process of its own (`manage.py cutplan --compile`, which `manage.py start` runs beside the
server), and leaves a note. A search takes the compiled moves only where the note is for the code and the
processor as they are now; then they are read from numba's cache in less than a second.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from types import FunctionType
from typing import Any

from jobs.cutting.pricing import close_by_rows
from jobs.cutting.search import closing, decoder, kernel, ready, walk

COMPILED_IN_ORDER = (
    kernel.draw,
    kernel.weigh_place,
    kernel.weigh_strip,
    kernel.weigh_sheet,
    kernel.weigh_pattern,
    kernel.find_place,
    kernel.new_node,
    kernel.drop_node,
    kernel.hang,
    kernel.lay_pattern,
    kernel.open_sheet,
    kernel.put,
    kernel.take_out,
    kernel.close_sheet,
    kernel.lift_only,
    kernel.pull_tight,
    kernel.tidy_above,
    walk.clear_sheet,
    walk.ruin,
    walk.line_up,
    walk.recreate,
    walk.offer,
    walk.cost_of,
    walk.copy_state,
    walk.walk,
    walk.shed,
    decoder.next_source,
    decoder.best_rectangle,
    decoder.best_of_one_sort,
    decoder.cuts_rip_first,
    decoder.decode,
    decoder.rate,
    decoder.spent_on,
    decoder.change,
    decoder.anneal,
    closing.close,
    closing.fit_together,
    closing.count_held,
    closing.close_within,
)

# Loading compiled code takes a second, two on a busy machine; they gain it back in less than another.
LOADING_SECONDS = 1.5


@dataclass(frozen=True, slots=True)
class Moves:
    """The functions that the search calls from outside the compiled part, and what rows they work on.

    `chunk` is how many steps make a small piece of work, `effort` how many pairs of pieces a pricing may try for
    each second that is left.
    """

    walk: Any
    shed: Any
    cost_of: Any
    copy_state: Any
    clear_sheet: Any
    find_place: Any
    put: Any
    new_node: Any
    decode: Any
    anneal: Any
    close: Any
    close_within: Any
    row: Callable[[list[Any]], Any]
    chunk: int
    effort: int


PLAIN = Moves(
    walk.walk,
    walk.shed,
    walk.cost_of,
    walk.copy_state,
    walk.clear_sheet,
    kernel.find_place,
    kernel.put,
    kernel.new_node,
    decoder.decode,
    decoder.anneal,
    close_by_rows,
    closing.close_within,
    list,
    25,
    10_000_000,
)


def quickest(seconds_left: float) -> Moves:
    """The compiled moves where they are ready and there is time to load them, else the plain ones."""
    if compiled.cache_info().currsize:
        return compiled()
    if seconds_left < LOADING_SECONDS or not ready.is_ready() or not ready.is_for_this_processor():
        return PLAIN
    return compiled()


def compile_ahead() -> bool:
    """Compile the moves and leave the note; false where another process is at it.

    Raises ImportError where numba is not installed.
    """
    if ready.is_ready() and ready.is_for_this_processor():
        return True
    if not ready.begin():
        return False
    done = False
    try:
        _try_every_move(compiled())
        _try_to_build_blocks()
        done = True
    finally:
        ready.end(done=done)
    return True


def _try_every_move(moves: Moves) -> None:
    """Call every function once: each is compiled as it is first called."""
    from jobs.cutting.groups import split
    from jobs.cutting.pricing import Pricer, Way
    from jobs.cutting.problem import Part, Problem, Stock
    from jobs.cutting.search.annealer import Annealer
    from jobs.cutting.search.state import NO_LIMIT, table_of
    from jobs.cutting.search.walker import Walker
    from jobs.cutting.within import WithinPricer

    stock = (Stock("sheet", 40, 30, cost=4, buy=True),)
    problem = Problem(stock, (Part("a", 20, 7, 9, "length"), Part("b", 9, 5, 7)), kerf=1)
    group = split(problem)[0][0]
    walker = Walker(table_of(problem, group.items, group.stock), 0, moves)
    walker.start([0, 1], {0})
    walker.aim_below(walker.spent - 1)
    walker.steps(3)
    walker.clear()
    annealer = Annealer(walker.table, 0, moves)
    annealer.aim_below(NO_LIMIT)
    annealer.begin_run([])
    annealer.steps(3)
    annealer.sheets()
    ways = [Way(0, 21, 8, 9, False)]
    Pricer(ways, 41, 31, 10_000).price([1], close=moves.close)
    WithinPricer(ways, 41, 31, 10_000, moves.close_within).price([1])


def _try_to_build_blocks() -> None:
    from jobs.cutting.fullest import fullest
    from jobs.cutting.pricing import Way
    from jobs.cutting.search.block_moves import compiled_blocks

    fullest((40, 30), [Way(0, 21, 8, 2, False), Way(1, 9, 5, 3, False)], [9, 2], moves=compiled_blocks())


@cache
def compiled() -> Moves:
    """The same moves as machine code. Raises ImportError where numba is not installed."""
    import numpy
    from numba import njit

    names = {**vars(kernel), **vars(walk), **vars(decoder), **vars(closing)}
    for function in COMPILED_IN_ORDER:
        # A copy that looks its callees up among the compiled ones; the plain functions stay as they are.
        copy = FunctionType(function.__code__, names, function.__name__)
        # Nothing is divided by zero: without a test for it the loops are a tenth quicker.
        names[function.__name__] = njit(cache=True, error_model="numpy")(copy)
    chosen = {name: names[name] for name in Moves.__slots__ if name not in ("row", "chunk", "effort")}
    return Moves(**chosen, row=lambda numbers: numpy.array(numbers), chunk=2000, effort=100_000_000)
