"""At the rack another piece than the plan's is at hand: its layout is laid on that one, and the promise moves."""

from collections import Counter
from collections.abc import Iterable
from typing import Any

from django.db import transaction

from inventory import ledger
from inventory.models import Piece, State
from jobs import holding
from jobs.cutting.format import read_problem, read_tree, write_tree
from jobs.cutting.problem import ProblemError
from jobs.cutting.refit import refit
from jobs.expecting import given_back
from jobs.layouts import leaves
from jobs.models import Layout, Part, Plan
from jobs.planning import saved_by_offcuts
from jobs.rack_list import rack_row, trim_of
from jobs.trees import leaves_of
from shared.measure import Unit, format_size
from shared.models import Person
from shared.refusal import Refused
from shared.shop import the_shop

Row = dict[str, Any]


def served_by(piece: Piece, waiting: Iterable[Layout]) -> Layout | None:
    """Which of these layouts could be cut from this piece instead; the one whose own piece is nearest in size.

    None where the piece is not on the rack, is promised to someone, or is too small for all of them.
    """
    if piece.state != State.ON_RACK or piece.holder is not None:
        return None
    same = [layout for layout in waiting if layout.material_id == piece.material_id and layout.piece_id]
    same.sort(key=lambda layout: (abs(piece.area - layout.length * layout.width), layout.position))
    if not same:
        return None
    shop = the_shop()
    stock = rack_row(piece, shop)
    return next((layout for layout in same if _tree_on(stock, layout, shop.unit)), None)


@transaction.atomic
def swap(*, layout: Layout, piece: Piece, by: Person, key: str = "") -> Layout:
    """Cut a layout from this piece instead of the one its plan names: that one is nobody's again, this one held.

    What is left over grows or shrinks, and the plan's figures follow; the estimate stays as it was given. It
    is taken back by swapping once more. Refused, with why, where it can't be done.
    """
    if ledger.already(by, key):
        return Layout.objects.select_related("piece").get(pk=layout.pk)
    locked = Layout.objects.select_for_update(of=("self",)).select_related("plan__job", "piece")
    layout = locked.get(pk=layout.pk)
    old = _piece_to_leave(layout)
    piece = ledger.locked(piece)
    _refuse_what_will_not_do(layout, piece)
    shop = the_shop()
    stock = rack_row(piece, shop)
    tree = _tree_on(stock, layout, shop.unit)
    if tree is None:
        raise Refused(_too_small(layout, piece, shop.unit))
    holding.release(piece=old, by=by)
    holding.hold(piece=piece, job=layout.plan.job, by=by, key=key)
    _count_anew(layout, piece)
    _lay_on(layout, piece, tree, trim_of(piece, shop))
    others = [row for row in layout.plan.problem["stock"] if row["id"] != piece.code]
    _keep_plan(layout.plan, [*others, stock])
    return layout


def _piece_to_leave(layout: Layout) -> Piece:
    if layout.state != Layout.State.TO_CUT or layout.plan.state != Plan.State.ACCEPTED:
        raise Refused("This layout is cut already, or its plan was given up. Open the job's plan of today.")
    if layout.piece is None:
        raise Refused("The sheet for this layout has not come yet. Receive it on the buying page first.")
    old = ledger.locked(layout.piece)
    if old.state != State.ON_RACK:
        raise Refused(f"{old} is {State(old.state).label} already. Put it back first, or cut it.")
    return old


def _refuse_what_will_not_do(layout: Layout, piece: Piece) -> None:
    ledger.refuse_unless(piece, [State.ON_RACK], "used instead")
    job = layout.plan.job
    ledger.refuse_if_held_for_another(piece, job.number)
    if Layout.objects.filter(plan=layout.plan, piece=piece, state=Layout.State.TO_CUT).exists():
        raise Refused(f"{piece} is for another layout of this plan.")
    if piece.material_id != layout.material_id:
        raise Refused(f"{piece} is {piece.material}, this layout is cut from {layout.material}.")


def _too_small(layout: Layout, piece: Piece, unit: Unit) -> str:
    wanted, there = (format_size(one.length, one.width, unit) for one in (layout, piece))
    return f"{piece} is {there}: what layout {layout.position} needs of {wanted} can't be sawn from it."


def _tree_on(stock: Row, layout: Layout, unit: Unit) -> Row | None:
    """The layout's tree on this stock, by the rules its plan was made with; None where it can't be."""
    whole = layout.plan.problem
    if whole.get("unit") != unit:
        return None
    first_cut = stock.get("first_cut") or whole.get("first_cut")
    asked = {"first_cut": first_cut, "stock": [_stock_of(layout, whole), stock], **_asked_for(layout, whole)}
    try:
        problem = read_problem(whole | asked)
        tree = refit(problem, read_tree(problem, layout.tree), *problem.stock)
    except ProblemError:  # a layout of an older plan, whose sizes are none of today's
        return None
    return write_tree(problem, tree) if tree else None


def _stock_of(layout: Layout, problem: Row) -> Row:
    """The stock this layout was planned on; under another name, as the scanned piece may be of the same."""
    row: Row = next(row for row in problem["stock"] if row["id"] == layout.stock_id)
    return row | {"id": "was"}


def _asked_for(layout: Layout, problem: Row) -> Row:
    """The problem's parts and blanks, as many as this layout gives."""
    given = Counter(leaf.get("part") or leaf.get("blank") for leaf in leaves(layout.tree))
    blanks = [row | {"quantity": given[row["id"]]} for row in problem.get("blanks", ()) if row["id"] in given]
    within = {name for row in blanks for name in leaves_of(row["tree"])}
    alone = [row | {"quantity": given[row["id"]]} for row in problem["parts"] if row["id"] in given]
    return {"parts": [*alone, *(row for row in problem["parts"] if row["id"] in within)], "blanks": blanks}


def _count_anew(layout: Layout, piece: Piece) -> None:
    """What the plan takes from the rack, and what it buys: a sheet that was bought is stock like any other."""
    plan = layout.plan
    if layout.offer_id:
        plan.bought -= layout.price
    else:
        plan.rack_used -= layout.price
    plan.rack_used += piece.value


def _lay_on(layout: Layout, piece: Piece, tree: Row, trim: int) -> None:
    layout.piece, layout.stock_id, layout.tree = piece, piece.code, tree
    layout.length, layout.width, layout.price = piece.length, piece.width, piece.value
    layout.trim = trim
    layout.offer = layout.buy_line = None
    fields = ["piece", "stock_id", "tree", "length", "width", "price", "trim", "offer", "buy_line"]
    layout.save(update_fields=fields)


def _keep_plan(plan: Plan, stock: list[Row]) -> None:
    plan.problem = plan.problem | {"stock": stock}
    layouts = list(plan.layouts.select_related("piece"))
    plan.kept = given_back(plan, layouts)
    parts = Part.objects.filter(layout_parts__layout__plan=plan).distinct()
    plan.saved = saved_by_offcuts(plan, layouts, {part.pk: part for part in parts})
    plan.save(update_fields=["problem", "bought", "rack_used", "kept", "saved"])
