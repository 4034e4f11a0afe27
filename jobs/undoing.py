"""Every step can be taken back by a movement that says so, with what it did to the job."""

from django.db import transaction

from inventory import ledger
from inventory.models import Movement, Piece, State, Verb
from jobs import charging
from jobs.making import count_parts_of
from jobs.models import BuyLine, Hold, Job, Layout, Plan
from shared.models import Person


@transaction.atomic
def undo(*, movement: Movement, by: Person, key: str = "") -> Movement:
    """Undo a movement: stock, charges, and for a layout's cut its parts and the promise of its piece."""
    if done := ledger.already(by, key):
        return done
    movement = movement.part_of or movement
    layout = Layout.objects.select_for_update(of=("self",)).filter(movement=movement).first()
    if layout:
        _put_parts_back(layout)
    if movement.verb in (Verb.RECEIVE, Verb.PUT_IN) and movement.piece_id:
        _take_from_layouts(movement.piece_id)
    undoing = ledger.undo(movement, by=by, key=key)
    charging.take_back(movement, undoing)
    if movement.verb == Verb.CUT and movement.piece:
        _hold_again(movement, by=by)
    return undoing


def _put_parts_back(layout: Layout) -> None:
    is_live = layout.plan.state == Plan.State.ACCEPTED
    layout.movement, layout.state = None, Layout.State.TO_CUT if is_live else Layout.State.DROPPED
    layout.save(update_fields=["movement", "state"])
    count_parts_of(layout)


def _take_from_layouts(piece_pk: int) -> None:
    """A sheet whose receipt is undone is to be bought again."""
    for layout in Layout.objects.filter(piece=piece_pk, state=Layout.State.TO_CUT).select_related("buy_line"):
        layout.piece = None
        layout.save(update_fields=["piece"])
        if line := layout.buy_line:
            line.received, line.state = line.received - 1, BuyLine.State.OPEN
            line.save(update_fields=["received", "state"])


def _hold_again(movement: Movement, *, by: Person) -> None:
    """The piece of an undone cut is promised again to the job it was cut for."""
    job = Job.objects.open().filter(number=movement.job_number).first()
    piece = Piece.objects.get(movements=movement)
    waits = Layout.objects.filter(piece=piece, state=Layout.State.TO_CUT, plan__state=Plan.State.ACCEPTED)
    if job and piece.state in (State.ON_RACK, State.PULLED) and waits.exists():
        Hold.objects.get_or_create(piece=piece, defaults={"job": job, "by": by})
