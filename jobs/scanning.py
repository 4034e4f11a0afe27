"""What a scanned code stands for, what is likeliest wanted of it, and rounds along the rack for a job."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.models import Material, Piece, Place, State
from jobs import showing
from jobs.models import Job, Layout, Part

Thing = Piece | Place | Part | Material


def thing_with(code: str) -> Thing | None:
    """The one thing in the shop with this code, as `codes.parse_code` gives it."""
    piece = Piece.objects.with_all_shown().select_related("parent").filter(code=code).first()
    return (
        piece
        or Place.objects.filter(code=code).first()
        or Part.objects.filter(code=code).select_related("job", "material").first()
        or Material.objects.filter(code=code).first()
    )


@dataclass(frozen=True, slots=True)
class NextStep:
    """What is likeliest wanted of a piece: to pull it, cut it, find it, or only to read what became of it."""

    do: str
    layout: Layout | None = None


def next_step(piece: Piece) -> NextStep:
    """Pull what is on the rack, cut what is pulled, find what is lost; the layout that waits comes along."""
    waiting = piece.layouts.filter(state=Layout.State.TO_CUT, plan__state="accepted")
    layout = waiting.select_related("plan__job").first() if piece.is_in_shop else None
    do = {State.ON_RACK: "pull", State.PULLED: "cut", State.LOST: "find"}.get(State(piece.state), "read")
    return NextStep(do, layout)


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
    """A scanned piece in a round for a job: whether the plan names it; if not, what would do instead."""

    job: Job
    is_named: bool
    instead: Sequence[Layout]
    left: int


def in_round(piece: Piece, job: Job | None) -> Round | None:
    """Where a round is being made for a job: right or wrong, and what would do, nearest on the walk first."""
    if job is None:
        return None
    waiting = to_pull(job)
    named = any(layout.piece_id == piece.pk for layout in waiting)
    same = [layout for layout in waiting if layout.material_id == piece.material_id]
    return Round(job, named, () if named else (same or waiting)[:3], len(waiting))
