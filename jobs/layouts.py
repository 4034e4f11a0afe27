"""A layout's row and the drawing side of it: its tree read with the shop's kerf, in ticks."""

from collections.abc import Iterator
from typing import Any

from jobs.diagrams import geometry
from jobs.models import Layout, Plan
from shared.measure import exact_ticks

Tree = dict[str, Any]


def leaves(tree: Tree) -> Iterator[Tree]:
    """What a tree is sawn into at last: parts, blanks, offcuts and waste, in sawing order."""
    if "cut" not in tree:
        yield tree
    else:
        for child in tree["of"]:
            yield from leaves(child)


def read(layout: Layout, plan: Plan, names: dict[str, str]) -> geometry.Layout:
    """The layout ready to be drawn; `names` maps the problem's part ids to what people read."""
    unit = plan.problem["unit"]
    stock = {row["id"]: row for row in plan.problem["stock"]}.get(layout.stock_id, {})
    return geometry.read_layout(
        layout.tree,
        length=layout.length,
        width=layout.width,
        kerf=exact_ticks(plan.problem["kerf"], unit),
        unit=unit,
        names=names,
        trim=layout.trim,
        is_grained=stock.get("grain", "length") != "none",
        defects=stock.get("defects", []),
        blanks=geometry.blank_trees(plan.problem),
    )


def parts_area(drawn: geometry.Layout) -> int:
    """Square ticks of all parts of a layout."""
    return sum(one.length * one.width for one in drawn.placed() if one.kind == "part")


def offcuts(drawn: geometry.Layout) -> list[geometry.Placed]:
    """The offcuts a layout should leave, largest first."""
    left = [one for one in drawn.placed() if one.kind == "offcut"]
    return sorted(left, key=lambda one: -one.length * one.width)
