"""At the saw: pull a piece, cut its layout, spoil a part, cut without a plan."""

from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction
from django.db.models import F, Sum

from inventory import flaws, goods, handling, ledger, sawing
from inventory.models import Account, Material, Movement, Piece
from jobs import gluing_up, layouts
from jobs.charging import charge
from jobs.diagrams import geometry
from jobs.models import Hold, Job, Layout, LayoutPart, Part, Plan, Spoiled
from shared.measure import format_size
from shared.models import Person
from shared.refusal import Refused
from shared.shop import the_shop


@transaction.atomic
def pull(*, piece: Piece, by: Person, key: str = "") -> Movement:
    """Take a piece off the rack, for the job that holds it where one does."""
    holder = piece.holder
    return handling.pull(piece=piece, by=by, key=key, job_number=holder.number if holder else "")


@transaction.atomic
def cut_layout(
    *, layout: Layout, left: Sequence[sawing.LeftOver], by: Person, key: str = "", note: str = ""
) -> sawing.Cut:
    """Saw a layout: its piece is used and charged, its parts are cut, what is left goes on the rack.

    `left` is what was really left, in ticks. Refused where the plan is not accepted, the piece has not come
    yet, or parts and offcuts are more than the piece.
    """
    layout = (
        Layout.objects.select_for_update(of=("self",)).select_related("plan__job", "piece").get(pk=layout.pk)
    )
    job, piece = layout.plan.job, layout.piece
    if done := ledger.already(by, key):
        return sawing.cut_up(piece=piece or done.piece, left=left, parts_area=0, by=by, key=key)  # type: ignore[arg-type]
    _refuse_what_cannot_be_cut(layout)
    assert piece
    drawn = layouts.read(layout, layout.plan, {})
    cut = sawing.cut_up(
        piece=piece,
        left=left,
        parts_area=layouts.parts_area(drawn),
        by=by,
        key=key,
        account=Account.JOB,
        job_number=job.number,
        note=note,
    )
    _pass_on_flaws(piece, cut.offcuts, drawn)
    charge(job, [cut.movement, *cut.movement.others.all()])
    Hold.objects.filter(piece=piece).delete()
    layout.state, layout.movement = Layout.State.CUT, cut.movement
    layout.save(update_fields=["state", "movement"])
    count_parts_of(layout)
    _drop_layouts_waiting_for(piece)
    return cut


def _pass_on_flaws(piece: Piece, offcuts: Sequence[Piece], drawn: geometry.Layout) -> None:
    """Offcuts keep the flaws that lie on them. One of a planned size is taken for that one, others in turn."""
    planned = layouts.offcuts(drawn)
    for offcut in offcuts:
        same = [one for one in planned if (one.length, one.width) == (offcut.length, offcut.width)]
        if place := next(iter(same or planned), None):
            planned.remove(place)
            flaws.pass_on(piece, offcut, place.x, place.y)


def count_parts_of(layout: Layout) -> None:
    """Set how many of a layout's parts are cut: what all standing cuts gave, less what was spoiled, and never
    more than are wanted. A blank gives its parts with its last stave. Refused where more are marked spoiled
    than were given."""
    theirs = Part.objects.filter(layout_parts__layout=layout).order_by("pk")
    sawn = list(theirs.select_for_update(of=("self",)))
    parts = [*sawn, *gluing_up.parts_from(sawn)]
    cut = LayoutPart.objects.filter(layout__state=Layout.State.CUT, part__in=parts)
    given = dict(cut.order_by().values("part").annotate(n=Sum("count")).values_list("part", "n"))
    for part in parts:
        good = given.get(part.pk, 0) + gluing_up.given_by_blanks(part) - part.spoiled
        if good < 0:
            raise Refused(
                f"{part.spoiled} of {part.name} were marked spoiled since. "
                "Take that back first, then undo the cut."
            )
        part.cut = min(part.quantity, good)
        part.save(update_fields=["cut"])


def _drop_layouts_waiting_for(piece: Piece) -> None:
    """The piece is gone: what else should have been cut from it is planned again."""
    waiting = Layout.objects.filter(piece=piece, state=Layout.State.TO_CUT, plan__state=Plan.State.ACCEPTED)
    waiting.update(state=Layout.State.DROPPED)


def _refuse_what_cannot_be_cut(layout: Layout) -> None:
    if layout.state == Layout.State.CUT:
        raise Refused(f"Layout {layout.position} is cut already.")
    if layout.state == Layout.State.DROPPED or layout.plan.state != Plan.State.ACCEPTED:
        raise Refused("This layout belongs to a plan that was given up. Open the job's plan of today.")
    if layout.piece is None:
        raise Refused("The sheet for this layout has not come yet. Receive it on the buying page first.")


@transaction.atomic
def cut_free(
    *,
    piece: Piece,
    taken: Sequence[tuple[int, int, int]],
    left: Sequence[sawing.LeftOver],
    by: Person,
    job: Job | None = None,
    key: str = "",
    note: str = "",
) -> sawing.Cut:
    """A cut that is from no plan: someone just needs a piece.

    `taken` lists (count, length, width) in ticks. With a job the material is charged to it; without one it is
    written off. A layout that waited for this piece is dropped, its parts go back to be planned again. Offcuts
    of which is said where they began keep the flaws that lie on them.
    """
    if done := ledger.already(by, key):
        assert done.piece
        return sawing.cut_up(piece=done.piece, left=left, parts_area=0, by=by, key=key)
    holder = piece.holder
    if holder is not None and job is None:
        job = holder
    _refuse_parts_larger_than(piece, taken)
    cut = sawing.cut_up(
        piece=piece,
        left=left,
        parts_area=sum(count * length * width for count, length, width in taken),
        by=by,
        key=key,
        account=Account.JOB if job else Account.WRITTEN_OFF,
        job_number=job.number if job else "",
        note=note,
    )
    for one, offcut in zip(left, cut.offcuts, strict=True):
        if one.began is not None:
            flaws.pass_on(piece, offcut, *one.began)
    if job:
        charge(job, [cut.movement, *cut.movement.others.all()])
    Hold.objects.filter(piece=piece).delete()
    _drop_layouts_waiting_for(piece)
    return cut


def _refuse_parts_larger_than(piece: Piece, taken: Sequence[tuple[int, int, int]]) -> None:
    unit = the_shop().unit
    for _, length, width in taken:
        if not piece.fits(length, width):
            size = format_size(length, width, unit)
            whole = format_size(piece.length, piece.width, unit)
            raise Refused(f"A part of {size} can't be taken from {piece}, which is {whole}.")


@transaction.atomic
def spoil(*, part: Part, count: int, by: Person, key: str = "", why: str = "") -> Spoiled:
    """Parts that were cut and can't be used go back to be planned again. Their material stays charged."""
    part = Part.objects.select_for_update().get(pk=part.pk)
    if key and (done := Spoiled.objects.filter(by=by, key=key).first()):
        return done
    if count < 1 or count > part.cut:
        raise Refused(f"{part.cut} of {part.name} are cut, so {count} of them can't be spoiled.")
    Part.objects.filter(pk=part.pk).update(cut=F("cut") - count, spoiled=F("spoiled") + count)
    _count_from_blanks_of(part)
    return Spoiled.objects.create(part=part, count=count, by=by, key=key, why=why[:120])


def _count_from_blanks_of(stave: Part) -> None:
    """A blank that has lost a stave gives no parts until it is sawn again."""
    for part in gluing_up.parts_from([stave]):
        still = LayoutPart.objects.filter(layout__state=Layout.State.CUT, part=part).aggregate(n=Sum("count"))
        good = (still["n"] or 0) + gluing_up.given_by_blanks(part) - part.spoiled
        part.cut = max(0, min(part.quantity, good))
        part.save(update_fields=["cut"])


@transaction.atomic
def unspoil(spoiled: Spoiled) -> None:
    """It was good after all."""
    spoiled = Spoiled.objects.select_for_update().get(pk=spoiled.pk)
    if spoiled.is_undone:
        raise Refused("This is undone already.")
    part = Part.objects.select_for_update().get(pk=spoiled.part_id)
    if part.cut + spoiled.count > part.quantity:
        raise Refused(f"As many {part.name} as are wanted have been cut anew; the first can't come back.")
    Part.objects.filter(pk=part.pk).update(cut=F("cut") + spoiled.count, spoiled=F("spoiled") - spoiled.count)
    _count_from_blanks_of(part)
    spoiled.is_undone = True
    spoiled.save(update_fields=["is_undone"])


@transaction.atomic
def issue_goods(*, job: Job, material: Material, quantity: Decimal, by: Person, key: str = "") -> None:
    """Goods from stock go into the job and are charged to it."""
    if ledger.already(by, key) is None:
        charge(job, goods.issue(material=material, quantity=quantity, by=by, key=key, job_number=job.number))


@transaction.atomic
def put_goods_back(*, job: Job, material: Material, quantity: Decimal, by: Person, key: str = "") -> None:
    """What was left over comes back to stock, and off the job's cost."""
    if ledger.already(by, key) is None:
        charge(
            job, goods.put_back(material=material, quantity=quantity, by=by, key=key, job_number=job.number)
        )
