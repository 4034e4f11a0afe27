"""The moves of the search, plain or compiled to machine code: the same functions, the same results."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from jobs.cutting.search import kernel, walk


@dataclass(frozen=True, slots=True)
class Moves:
    """The functions that the search calls from outside the compiled part."""

    walk: Any
    shed: Any
    cost_of: Any
    copy_state: Any
    clear_sheet: Any
    find_place: Any
    put: Any


PLAIN = Moves(
    walk.walk, walk.shed, walk.cost_of, walk.copy_state, walk.clear_sheet, kernel.find_place, kernel.put
)
