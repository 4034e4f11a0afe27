"""Layouts of the pricing programme as sheets of the search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from jobs.cutting.pricing import Cuts, Halves, Way
from jobs.cutting.search.kernel import ITEM_FREE
from jobs.cutting.search.sheets import NodeRow, Sheet
from jobs.cutting.search.state import Table


def sheet_of(table: Table, source: int, cuts: Cuts) -> Sheet | None:
    """The sheet that these cuts make of a clean source; None where the shop's rules forbid them."""
    problem, stock = table.problem, table.sources[source].stock
    if cuts is None or table.sources[source].pattern is not None:
        return None
    size = stock.usable[0] + problem.kerf, stock.usable[1] + problem.kerf
    axis = {None: _first_axis(cuts), "rip": 1, "crosscut": 0}[problem.first_cut]
    grower = _Grower()
    root = grower.add(-1, ITEM_FREE, size, axis, 1)
    grower.grow(root, size, cuts)
    rows = tuple(grower.rows_done())
    return Sheet(source, rows) if _within_stages(rows, problem.stages) else None


def _within_stages(rows: Sequence[NodeRow], stages: int | None) -> bool:
    """Whether what is cut after the last stage only frees single parts."""
    if stages is None:
        return True
    late = Counter(row[0] for row in rows if row[0] >= 0 and rows[row[0]][6] > stages)
    return all(number == 1 and rows[at][6] == stages + 1 for at, number in late.items())


def _first_axis(cuts: Halves | Way) -> int:
    return cuts.axis if isinstance(cuts, Halves) else 1


class _Grower:
    """Grows the rows of a sheet, flattening cuts in the same direction into one node."""

    def __init__(self) -> None:
        self.rows: list[NodeRow] = []
        self.taken: list[int] = []

    def add(self, parent: int, kind: int, size: tuple[int, int], axis: int, level: int) -> int:
        self.rows.append((parent, kind, *size, axis, 0, level))
        self.taken.append(0)
        if parent >= 0:
            self.taken[parent] += size[self.rows[parent][4]]
        return len(self.rows) - 1

    def grow(self, node: int, size: tuple[int, int], cuts: Cuts) -> None:
        """Hang what is cut from a region of this size, which spans the node across, under the node."""
        axis, level = self.rows[node][4], self.rows[node][6]
        if cuts is None:
            return
        if isinstance(cuts, Halves):
            if cuts.axis == axis:
                first, second = _halved(size, axis, cuts.size)
                self.grow(node, first, cuts.first)
                self.grow(node, second, cuts.second)
            else:
                inner = self.add(node, ITEM_FREE, size, 1 - axis, level + 1)
                self.grow(inner, size, cuts)
            return
        item = cuts.long, cuts.wide
        if item[1 - axis] == size[1 - axis]:
            self.add(node, cuts.item, item, -1, level + 1)
        else:
            strip = (item[0], size[1]) if axis == 0 else (size[0], item[1])
            inner = self.add(node, ITEM_FREE, strip, 1 - axis, level + 1)
            self.add(inner, cuts.item, item, -1, level + 2)

    def rows_done(self) -> list[NodeRow]:
        """The rows, each inner node with what its children leave free along it."""
        done = []
        for row, taken in zip(self.rows, self.taken, strict=True):
            parent, kind, long, wide, axis, free, level = row
            if kind == ITEM_FREE:
                free = (long if axis == 0 else wide) - taken
            done.append((parent, kind, long, wide, axis, free, level))
        return done


def _halved(size: tuple[int, int], axis: int, first: int) -> tuple[tuple[int, int], tuple[int, int]]:
    if axis == 0:
        return (first, size[1]), (size[0] - first, size[1])
    return (size[0], first), (size[0], size[1] - first)
