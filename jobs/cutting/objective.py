"""What makes one plan better than another, in the order of FORMAT.md; every search calls this."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from jobs.cutting.layout import Layout, Node
from jobs.cutting.problem import Item, Problem, Stock


@dataclass(frozen=True, slots=True, order=True)
class Worth:
    """How good a set of layouts is; less is better, compared field by field in this order.

    left_out is the area of what was not cut, bought and rack are in the problem's money (rack: value used
    less what is carried back), pieces how many pieces of stock, settings how many saw settings, offcuts how
    many leftovers and scraps come off.
    """

    left_out: int
    bought: int
    rack: Fraction
    pieces: int
    settings: int
    offcuts: int


@dataclass(frozen=True, slots=True)
class Amounts:
    """What layouts take and give back, in the problem's money."""

    bought: int
    rack_used: int
    kept: Fraction


def worth(problem: Problem, items: Sequence[Item], layouts: Iterable[Layout]) -> Worth:
    """Rate layouts; what they do not cut of these items counts as left out."""
    layouts = list(layouts)
    sums = amounts(problem, layouts)
    cut_area, settings, offcuts, pieces = 0, 0, 0, 0
    sizes = {item.id: item.length * item.width for item in items}
    for layout in layouts:
        leaves = list(layout.tree.leaves())
        cut_area += layout.count * sum(sizes[leaf.id] for leaf in leaves if leaf.id)
        offcuts += layout.count * sum(leaf.kind in ("offcut", "waste") for leaf in leaves)
        settings += saw_settings(layout.tree)
        pieces += layout.count
    wanted = sum(item.length * item.width * item.quantity for item in items)
    return Worth(wanted - cut_area, sums.bought, sums.rack_used - sums.kept, pieces, settings, offcuts)


def saw_settings(tree: Node) -> int:
    """How often the fence is set for one layout: once for each run of equal sizes in a cut."""
    if tree.kind != "cut":
        return 0
    runs = sum(
        1
        for before, child in zip((None, *tree.of), tree.of, strict=False)
        if before is None or before.size != child.size
    )
    return runs + sum(saw_settings(child) for child in tree.of)


def amounts(problem: Problem, layouts: Iterable[Layout]) -> Amounts:
    """Add up what layouts buy, use of the rack and carry back."""
    stock = {row.id: row for row in problem.stock}
    bought = rack = 0
    kept = Fraction(0)
    for layout in layouts:
        row = stock[layout.stock]
        if row.buy:
            bought += row.cost * layout.count
        else:
            rack += row.cost * layout.count
        kept += layout.count * carried_back(problem, row, kept_area(row, layout.tree))
    return Amounts(bought, rack, kept)


def carried_back(problem: Problem, stock: Stock, area: int) -> Fraction:
    """The value that offcuts of this area carry back from a piece of stock."""
    if problem.keep is None or not area:
        return Fraction(0)
    return problem.keep.rate * stock.cost * Fraction(area, stock.length * stock.width)


def kept_area(stock: Stock, tree: Node) -> int:
    """The area of the offcuts in one layout."""
    long, wide = stock.usable
    return _kept_within(tree, long, wide)


def _kept_within(node: Node, long: int, wide: int) -> int:
    if node.kind == "offcut":
        return long * wide
    if node.cut == "rip":
        return sum(_kept_within(child, long, child.size) for child in node.of)
    return sum(_kept_within(child, child.size, wide) for child in node.of)
