"""The moves of the search, plain or compiled to machine code: the same functions, the same results.

Compiling needs numba (the extra `fast`) and takes about half a minute for each version of the code, which no
one who waits for a plan should pay: `manage.py cutplan --compile` does it ahead and leaves a note beside the
compiled files; a search takes the compiled moves only where the note is for the code as it is now.
"""

from __future__ import annotations

import hashlib
import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any

from jobs.cutting.search import decoder, kernel, walk

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
    decoder.cuts_rip_first,
    decoder.decode,
    decoder.rate,
    decoder.spent_on,
    decoder.change,
    decoder.anneal,
)

# Loading compiled code takes a second or two on a busy machine.
LOADING_SECONDS = 3.0


@dataclass(frozen=True, slots=True)
class Moves:
    """The functions that the search calls from outside the compiled part, and what rows they work on.

    `chunk` is how many steps make a small piece of work.
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
    row: Callable[[list[Any]], Any]
    chunk: int


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
    list,
    25,
)


def note_of_readiness() -> Path:
    """The note that says the compiled moves on disk are those of the code as it is."""
    import numba

    code = b"".join(Path(str(module.__file__)).read_bytes() for module in (kernel, walk, decoder))
    mark = hashlib.sha256(code + numba.__version__.encode()).hexdigest()[:16]
    return Path(__file__).parent / "__pycache__" / f"compiled-{mark}"


def quickest(seconds_left: float) -> Moves:
    """The compiled moves where they are ready and there is time to load them, else the plain ones."""
    if not compiled.cache_info().currsize and (seconds_left < LOADING_SECONDS or not is_ready()):
        return PLAIN
    return compiled()


@cache
def is_ready() -> bool:
    """Whether the moves were compiled ahead."""
    return importlib.util.find_spec("numba") is not None and note_of_readiness().exists()


def compile_ahead() -> None:
    """Compile the moves and leave the note. Raises ImportError where numba is not installed."""
    from jobs.cutting.groups import split
    from jobs.cutting.problem import Part, Problem, Stock
    from jobs.cutting.search.annealer import Annealer
    from jobs.cutting.search.state import NO_LIMIT, table_of
    from jobs.cutting.search.walker import Walker

    stock = (Stock("sheet", 40, 30, cost=4, buy=True),)
    problem = Problem(stock, (Part("a", 20, 7, 9, "length"), Part("b", 9, 5, 7)), kerf=1)
    group = split(problem)[0][0]
    walker = Walker(table_of(problem, group.items, group.stock), 0, compiled())
    walker.start([0, 1], {0})
    walker.aim_below(walker.spent - 1)
    walker.steps(3)
    walker.clear()
    annealer = Annealer(walker.table, 0, compiled())
    annealer.aim_below(NO_LIMIT, [])
    annealer.steps(3)
    annealer.sheets()
    note_of_readiness().touch()


@cache
def compiled() -> Moves:
    """The same moves as machine code. Raises ImportError where numba is not installed."""
    import numpy
    from numba import njit

    names = {**vars(kernel), **vars(walk), **vars(decoder)}
    for function in COMPILED_IN_ORDER:
        # A copy that looks its callees up among the compiled ones; the plain functions stay as they are.
        copy = FunctionType(function.__code__, names, function.__name__)
        names[function.__name__] = njit(cache=True)(copy)
    chosen = {name: names[name] for name in Moves.__slots__ if name not in ("row", "chunk")}
    return Moves(**chosen, row=lambda numbers: numpy.array(numbers), chunk=2000)
