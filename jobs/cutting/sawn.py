"""A layout's tree with every size and place worked out.

The planning format writes down only what the saw is set to. Whoever draws a layout, words its cuts or
measures it needs the rest: where each piece lies and how large it is in both directions.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from jobs.cutting.problem import Cut

Kind = Literal["cut", "part", "blank", "offcut", "waste"]
Tree = Mapping[str, Any]


class UnsoundLayoutError(ValueError):
    """A tree that cannot be cut from its stock. str(error) says where and by how much."""


@dataclass(frozen=True, slots=True)
class Sawn:
    """One piece of a layout, and what it is sawn into.

    x and length run with the face grain of the stock, y and width across it, from the stock's corner.
    ``left`` is what the pieces and kerfs leave over: at most one kerf, taken by the last cut.
    A blank whose tree is known is of kind ``blank`` and has a cut and pieces of its own.
    """

    x: int
    y: int
    length: int
    width: int
    kind: Kind
    key: str = ""
    turned: bool = False
    cut: Cut | None = None
    of: tuple["Sawn", ...] = ()
    left: int = 0

    @property
    def area(self) -> int:
        return self.length * self.width

    @property
    def is_item(self) -> bool:
        """A part, or a blank that is cut into its parts later."""
        return self.kind in ("part", "blank") and self.cut is None

    def along(self, cut: Cut) -> int:
        """What the fence is set to when this piece is freed by such a cut."""
        return self.width if cut == "rip" else self.length

    def leaves(self) -> Iterator["Sawn"]:
        """The pieces that are not sawn any further, in order from the corner."""
        if self.cut is None:
            yield self
        for piece in self.of:
            yield from piece.leaves()


@dataclass(frozen=True, slots=True)
class BlankTree:
    """Parts that stay side by side: the format's tree of part ids, and each part's size as it lies there."""

    tree: Any
    sizes: Mapping[str, tuple[int, int]]


def saw_up(
    tree: Tree,
    *,
    length: int,
    width: int,
    kerf: int,
    trim: int = 0,
    ticks: Callable[[Any], int] = int,
    blanks: Mapping[str, BlankTree] | None = None,
) -> Sawn:
    """Work out every piece of a layout's tree in the planning format.

    length, width, kerf and trim are whole numbers in one unit; ``ticks`` turns a ``size`` of the tree into
    it. Blanks given in ``blanks`` are sawn on into their parts. A cut that frees nothing is left out.
    Raises UnsoundLayoutError where the tree does not fit.

    >>> shelf = {"size": 30, "part": "shelf"}
    >>> strip = {"size": 10, "cut": "crosscut", "of": [shelf, {"size": 9, "waste": True}]}
    >>> tree = {"cut": "rip", "of": [strip, {"size": 9, "offcut": True}]}
    >>> sheet = saw_up(tree, length=40, width=20, kerf=1)
    >>> [(piece.kind, piece.x, piece.y, piece.length, piece.width) for piece in sheet.leaves()]
    [('part', 0, 0, 30, 10), ('waste', 31, 0, 9, 10), ('offcut', 0, 11, 40, 9)]
    """
    if min(length, width) <= 2 * trim:
        raise UnsoundLayoutError(
            f"nothing is left of {length} x {width} when {trim} is trimmed off every edge"
        )
    reader = _Reader(kerf, ticks, blanks or {})
    return reader.piece(tree, trim, trim, length - 2 * trim, width - 2 * trim)


@dataclass(frozen=True, slots=True)
class _Reader:
    kerf: int
    ticks: Callable[[Any], int]
    blanks: Mapping[str, BlankTree]

    def piece(self, node: Tree, x: int, y: int, length: int, width: int) -> Sawn:
        if length <= 0 or width <= 0:
            raise UnsoundLayoutError(f"a piece of no size at {x}, {y}")
        if "cut" in node:
            pieces, left = self._pieces(node, x, y, length, width)
            if len(pieces) == 1 and left == 0:
                return pieces[0]
            return Sawn(x, y, length, width, "cut", cut=node["cut"], of=pieces, left=left)
        return self._leaf(node, x, y, length, width)

    def _pieces(self, node: Tree, x: int, y: int, length: int, width: int) -> tuple[tuple[Sawn, ...], int]:
        rip = node["cut"] == "rip"
        room, at = (width if rip else length), 0
        pieces = []
        for child in node["of"]:
            size = self.ticks(child["size"])
            if at + size > room:
                raise UnsoundLayoutError(
                    f"the {node['cut']} at {x}, {y} takes {at + size}, only {room} is there"
                )
            if rip:
                pieces.append(self.piece(child, x, y + at, length, size))
            else:
                pieces.append(self.piece(child, x + at, y, size, width))
            at += size + self.kerf
        return tuple(pieces), room - at + self.kerf

    def _leaf(self, node: Tree, x: int, y: int, length: int, width: int) -> Sawn:
        turned = bool(node.get("turned"))
        if "part" in node:
            return Sawn(x, y, length, width, "part", key=node["part"], turned=turned)
        if "blank" in node:
            return self._blank(
                node["blank"], turned, Sawn(x, y, length, width, "blank", node["blank"], turned)
            )
        if node.get("offcut"):
            return Sawn(x, y, length, width, "offcut")
        if node.get("waste"):
            return Sawn(x, y, length, width, "waste")
        raise UnsoundLayoutError(f"a leaf at {x}, {y} that is no part, blank, offcut or waste")

    def _blank(self, key: str, turned: bool, whole: Sawn) -> Sawn:
        blank = self.blanks.get(key)
        if blank is None:
            return whole
        tree = blank_tree(blank, self.kerf, turned=turned)
        within = _Reader(self.kerf, int, {}).piece(tree, whole.x, whole.y, whole.length, whole.width)
        if within.cut is None:
            return within
        return replace(whole, cut=within.cut, of=within.of, left=within.left)


def blank_tree(blank: BlankTree, kerf: int, *, turned: bool = False) -> dict[str, Any]:
    """A blank's tree with sizes, as if it were a layout of its own.

    A part smaller than its neighbours beside it is trimmed to its own size; what that leaves is waste.

    >>> tree = {"cut": "crosscut", "of": ["tall", "short"]}
    >>> blank_tree(BlankTree(tree, {"tall": (10, 8), "short": (6, 5)}), 1)["of"][1]
    {'size': 6, 'cut': 'rip', 'of': [{'size': 5, 'part': 'short'}, {'size': 2, 'waste': True}]}
    """
    return _laid(blank.tree, blank, kerf, turned)[0]


def _laid(tree: Any, blank: BlankTree, kerf: int, turned: bool) -> tuple[dict[str, Any], int, int]:
    if isinstance(tree, str):
        length, width = blank.sizes[tree]
        leaf: dict[str, Any] = {"part": tree}
        return (leaf | {"turned": True}, width, length) if turned else (leaf, length, width)
    rip = (tree["cut"] == "rip") != turned
    laid = [_laid(child, blank, kerf, turned) for child in tree["of"]]
    across = max(length if rip else width for _, length, width in laid)
    of = [
        _trimmed(
            node,
            width if rip else length,
            length if rip else width,
            across,
            kerf,
            "crosscut" if rip else "rip",
        )
        for node, length, width in laid
    ]
    total = sum(node["size"] for node in of) + kerf * (len(of) - 1)
    node = {"cut": "rip" if rip else "crosscut", "of": of}
    return (node, across, total) if rip else (node, total, across)


def _trimmed(node: dict[str, Any], size: int, has: int, across: int, kerf: int, cut: Cut) -> dict[str, Any]:
    if has == across:
        return {"size": size} | node
    waste = [{"size": across - has - kerf, "waste": True}] if across - has > kerf else []
    if node.get("cut") == cut:
        return {"size": size, "cut": cut, "of": [*node["of"], *waste]}
    return {"size": size, "cut": cut, "of": [{"size": has} | node, *waste]}


def count_parts(pieces: Sequence[Sawn]) -> dict[str, int]:
    """How often each part or unsawn blank is cut."""
    counts: dict[str, int] = {}
    for piece in pieces:
        for leaf in piece.leaves():
            if leaf.is_item:
                counts[leaf.key] = counts.get(leaf.key, 0) + 1
    return counts
