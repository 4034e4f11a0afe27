"""What a movement takes from the rack for a job is charged to it, to the cent."""

from collections.abc import Iterable

from inventory.models import Account, Movement
from jobs.models import Charge, Job


def charge(job: Job, movements: Iterable[Movement]) -> list[Charge]:
    """One charge for each movement whose other side is the job: what the rack lost, or below zero what an
    offcut carries back."""
    return Charge.objects.bulk_create(
        Charge(job=job, movement=movement, amount=-movement.value, sort=_sort(movement), at=movement.at)
        for movement in movements
        if movement.account == Account.JOB
    )


def _sort(movement: Movement) -> str:
    if movement.lot_id:
        return Charge.Sort.GOODS
    return Charge.Sort.STOCK if movement.value < 0 else Charge.Sort.OFFCUT


def take_back(movement: Movement, undoing: Movement) -> list[Charge]:
    """The charges of a movement that was undone, backwards, on the movements that undo it."""
    rows = {row.undoes_id: row for row in [undoing, *undoing.others.all()]}
    charges = Charge.objects.filter(movement__in=[key for key in rows if key])
    return Charge.objects.bulk_create(
        Charge(job=one.job, movement=back, amount=-one.amount, sort=one.sort, at=back.at)
        for one in charges.select_related("job")
        for back in [rows[one.movement_id]]
    )
