"""What a scanned code stands for, what is likeliest wanted of it, and rounds along the rack for a job."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from inventory.models import Flaw, Material, Photo, Piece, Place, State
from jobs import showing, swapping
from jobs.models import Job, Layout, Part

Thing = Piece | Place | Part | Material


def pieces() -> "QuerySet[Any]":
    """Pieces with all that a piece's page shows in one row, and what else there is to be asked for.

    Each has `waiting_pk` (the accepted layout it is to be cut by, or None) with `waiting_job` (that job's
    number), `has_flaws`, `has_photos` and `has_others` (other rectangles of the odd shape it is one of), so
    that nothing is asked for in vain.
    """
    to_cut = Layout.objects.filter(piece=OuterRef("pk"), state=Layout.State.TO_CUT, plan__state="accepted")
    waiting = to_cut.order_by("pk")[:1]
    of_its_shape = Q(one_with=OuterRef("pk")) | Q(pk=OuterRef("one_with"))
    return (
        Piece.objects.with_all_shown()
        .select_related("parent", "receipt_line__receipt__supplier")
        .annotate(
            waiting_pk=Subquery(waiting.values("pk")),
            waiting_job=Subquery(waiting.values("plan__job__number")),
            has_flaws=Exists(Flaw.objects.filter(piece=OuterRef("pk"))),
            has_photos=Exists(Photo.objects.filter(piece=OuterRef("pk"))),
            has_others=Exists(Piece.objects.filter(of_its_shape)),
        )
    )


def thing_with(code: str) -> Thing | None:
    """The one thing in the shop with this code, as `codes.parse_code` gives it; a piece as `pieces` does."""
    return (
        pieces().filter(code=code).first()
        or Place.objects.filter(code=code).first()
        or Part.objects.filter(code=code).select_related("job", "material").first()
        or Material.objects.filter(code=code).first()
    )


def next_step(piece: Piece) -> str:
    """What is likeliest wanted: pull what is on the rack, cut what is pulled, find what is lost; else read
    what became of it."""
    return {State.ON_RACK: "pull", State.PULLED: "cut", State.LOST: "find"}.get(State(piece.state), "read")


# ---- pulling for a job --------------------------------------------------------------------------------------


def to_pull(job: Job) -> list[Layout]:
    """What the job's plan is cut from and still lies on the rack, along the walk."""
    plan = job.plans.accepted().first()
    if plan is None:
        return []
    return [
        layout
        for layout in showing.layouts_in_rack_order(plan)
        if layout.state == Layout.State.TO_CUT and layout.piece and layout.piece.state == State.ON_RACK
    ]


@dataclass(frozen=True, slots=True)
class Round:
    """A scanned piece in a round for a job: whether the plan names it; if not, which to take instead, and the
    layout that could be cut from this one after all."""

    job: Job
    is_named: bool
    instead: Sequence[Layout]
    left: int
    serves: Layout | None = None


def in_round(piece: Piece, job: Job | None) -> Round | None:
    """Where a round is being made for a job: right or wrong, and what would do, nearest on the walk first."""
    if job is None:
        return None
    waiting = to_pull(job)
    named = any(layout.piece_id == piece.pk for layout in waiting)
    same = [layout for layout in waiting if layout.material_id == piece.material_id]
    if named:
        return Round(job, named, (), len(waiting))
    return Round(job, named, (same or waiting)[:3], len(waiting), swapping.served_by(piece, same))
