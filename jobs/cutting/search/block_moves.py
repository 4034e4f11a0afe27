"""The functions that build blocks, plain or compiled to machine code: the same functions, the same results."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import FunctionType
from typing import Any

from jobs.cutting.pricing import close_by_rows
from jobs.cutting.search import blocks, cells, closing
from jobs.cutting.search.accelerate import PLAIN, quickest

COMPILED_IN_ORDER = (
    closing.close,
    cells.value_around,
    cells.write_layout,
    blocks.has_no_more,
    blocks.is_wanted,
    blocks.keep,
    blocks.close_up,
    blocks.add,
    blocks.add_way,
    blocks.join,
    blocks.join_cells,
    blocks.join_along,
    blocks.build,
)


@dataclass(frozen=True, slots=True)
class BlockMoves:
    """The functions called from outside the compiled part, and how many cuts of cells they may try in a pass."""

    close: Any
    value_around: Any
    write_layout: Any
    build: Any
    effort: int


PLAIN_BLOCKS = BlockMoves(close_by_rows, cells.value_around, cells.write_layout, blocks.build, 2_000_000)


def quickest_blocks(seconds_left: float) -> BlockMoves:
    """The compiled functions where they are ready and there is time to load them, else the plain ones."""
    return PLAIN_BLOCKS if quickest(seconds_left) is PLAIN else compiled_blocks()


@cache
def compiled_blocks() -> BlockMoves:
    """The same functions as machine code. Raises ImportError where numba is not installed."""
    from numba import njit

    names = {**vars(closing), **vars(cells), **vars(blocks)}
    for function in COMPILED_IN_ORDER:
        # A copy that looks its callees up among the compiled ones; the plain functions stay as they are.
        copy = FunctionType(function.__code__, names, function.__name__)
        names[function.__name__] = njit(cache=True)(copy)
    return BlockMoves(
        names["close"], names["value_around"], names["write_layout"], names["build"], 600_000_000
    )
