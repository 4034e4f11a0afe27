"""Layouts as an accepted plan has them, without asking the planner for one."""

from inventory.models import Piece
from jobs import holding
from jobs.models import Layout, LayoutPart, Part, Plan
from shared.measure import exact_text
from shared.models import Person


def accepted_layout(piece: Piece, part: Part, by: Person, count: int = 2) -> Layout:
    """One strip ripped off a sheet and crosscut into parts and a foot of offcut, in the job's accepted plan; the
    sheet is held for the job."""
    problem = {"unit": "in", "kerf": "1/8", "stock": []}
    plan, _ = Plan.objects.get_or_create(
        job=part.job, defaults={"state": Plan.State.ACCEPTED, "asked_by": by, "problem": problem}
    )
    layout = Layout.objects.create(
        plan=plan,
        position=plan.layouts.count() + 1,
        piece=piece,
        stock_id=piece.code,
        material=piece.material,
        length=piece.length,
        width=piece.width,
        tree={"cut": "rip", "of": [_strip(part, count)]},
    )
    LayoutPart.objects.create(layout=layout, part=part, count=count)
    holding.hold(piece=piece, job=part.job, by=by)
    return layout


def _strip(part: Part, count: int) -> dict[str, object]:
    one = {"size": exact_text(part.length, "in"), "part": f"p{part.pk}"}
    return {
        "size": exact_text(part.width, "in"),
        "cut": "crosscut",
        "of": [*[one] * count, {"size": "12", "offcut": True}],
    }
