"""The moves of the search, plain or compiled to machine code: the same functions, the same results.

Compiling needs numba (the extra `fast`). It takes some seconds once for each version of the code, which no
one who waits for a plan should pay: `manage.py cutplan --compile` does it ahead, and a search uses the
compiled moves only when they are ready on disk.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import FunctionType
from typing import Any

from jobs.cutting.search import kernel, walk

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
)


@dataclass(frozen=True, slots=True)
class Moves:
    """The functions that the search calls from outside the compiled part, and what rows they work on."""

    walk: Any
    shed: Any
    cost_of: Any
    copy_state: Any
    clear_sheet: Any
    find_place: Any
    put: Any
    new_node: Any
    row: Callable[[list[Any]], Any]


PLAIN = Moves(
    walk.walk,
    walk.shed,
    walk.cost_of,
    walk.copy_state,
    walk.clear_sheet,
    kernel.find_place,
    kernel.put,
    kernel.new_node,
    list,
)


def compiled() -> Moves:
    """The same moves as machine code. Raises ImportError where numba is not installed."""
    import numpy
    from numba import njit

    names = {**vars(kernel), **vars(walk)}
    for function in COMPILED_IN_ORDER:
        # A copy that looks its callees up among the compiled ones; the plain functions stay as they are.
        copy = FunctionType(function.__code__, names, function.__name__)
        names[function.__name__] = njit(cache=True)(copy)
    return Moves(
        *(names[name] for name in Moves.__slots__ if name != "row"),
        row=lambda numbers: numpy.array(numbers),
    )
