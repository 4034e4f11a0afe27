"""From the search's sheets to layouts: trees of cuts as a person saws them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from jobs.cutting.layout import Layout, Node
from jobs.cutting.problem import Cut
from jobs.cutting.search.kernel import ITEM_FREE, PINNED, SCRAP
from jobs.cutting.search.sheets import Sheet
from jobs.cutting.search.state import Table

CUTS: tuple[Cut, Cut] = ("crosscut", "rip")


def layouts_of(table: Table, sheets: Iterable[Sheet]) -> list[Layout]:
    """One layout for each sheet, equal ones counted together."""
    counts: Counter[tuple[str, Node]] = Counter()
    for sheet, count in Counter(sheets).items():
        counts[table.sources[sheet.source].stock.id, drawn_tree(table, sheet)] += count
    return [Layout(stock, tree, count) for (stock, tree), count in counts.items()]


def drawn_tree(table: Table, sheet: Sheet) -> Node:
    """The tree of cuts of one sheet."""
    drawer = _Drawer(table, sheet)
    node = drawer.node(0)
    first = table.problem.first_cut
    if node.kind == "cut" and first is not None and node.cut != first:
        # A strip as wide as the sheet: the cut that is asked for first takes nothing off.
        size = drawer.extent(0, 1 if first == "rip" else 0)
        return Node("cut", cut=first, of=(node.sized(size - drawer.kerf),))
    return node


class _Drawer:
    def __init__(self, table: Table, sheet: Sheet) -> None:
        self.table, self.rows, self.kerf = table, sheet.rows, table.problem.kerf
        self.stock = table.sources[sheet.source].stock
        self.children: list[list[int]] = [[] for _ in sheet.rows]
        for at, row in enumerate(sheet.rows):
            if row[0] >= 0:
                self.children[row[0]].append(at)

    def extent(self, n: int, axis: int) -> int:
        """How far a node goes along an axis, one kerf included."""
        return self.rows[n][2 + axis]

    def node(self, n: int) -> Node:
        """What a row is as a piece to be sawn."""
        kind = self.rows[n][1]
        if kind >= 0:
            return self._item(n)
        if kind == SCRAP:
            return Node("waste")
        if kind == PINNED and any(self.rows[child][1] < ITEM_FREE for child in self.children[n]):
            return self._around_flaws(n)
        return self._sawn(n)

    def _around_flaws(self, n: int) -> Node:
        axis, children = self.rows[n][4], self.children[n]
        if self.extent(n, axis) == self.extent(children[0], axis):
            return self.node(children[0])
        of = tuple(self.node(child).sized(self.extent(child, axis) - self.kerf) for child in children)
        return Node("cut", cut=CUTS[axis], of=of)

    def _sawn(self, n: int) -> Node:
        axis, free, children = self.rows[n][4], self.rows[n][5], self.children[n]
        cross = self.extent(n, 1 - axis) - self.kerf
        if not children:
            return self._left_over(free - self.kerf, cross)
        if len(children) == 1 and free == 0:
            return self.node(children[0])
        pieces: list[Node] = []
        for child in children:
            extent, node = self.extent(child, axis), self.node(child)
            if node.kind == "cut" and node.cut == CUTS[axis]:
                solid = [piece for piece in node.of if piece.kind not in ("offcut", "waste")]
                pieces += solid
                free += extent - sum(piece.size + self.kerf for piece in solid)
            else:
                pieces.append(node.sized(extent - self.kerf))
        pieces.sort(key=_largest_first)
        if free > self.kerf:
            pieces.append(self._left_over(free - self.kerf, cross))
        return Node("cut", cut=CUTS[axis], of=tuple(pieces))

    def _left_over(self, along: int, cross: int) -> Node:
        keep = self.table.problem.keep
        return Node("offcut" if keep and keep.takes(along, cross) else "waste", along)

    def _item(self, n: int) -> Node:
        item = self.table.items[self.rows[n][1]]
        lies = self.rows[n][2] - self.kerf, self.rows[n][3] - self.kerf
        turned = next(way for a, b, way in item.ways(self.stock) if (a, b) == lies)
        return Node("blank" if item.is_blank else "part", id=item.id, turned=turned)


def _largest_first(piece: Node) -> tuple[int, str, str]:
    return -piece.size, piece.kind, piece.id
