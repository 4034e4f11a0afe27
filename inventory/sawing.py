"""Cutting a piece up: it is used, and what is left goes on the rack with labels of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from django.db import transaction

from inventory import ledger
from inventory.handling import pulled_from
from inventory.models import Account, LabelToPrint, Movement, Piece, Place, State, Verb
from shared import measure
from shared.models import Person
from shared.refusal import Refused
from shared.shop import take_codes, the_shop

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What is left from a cut, in ticks: length with the grain, width across it.

    Rectangles of one odd shape, an L, carry the same `shape`: they are one thing until they are sawn apart.
    `began` is where its corner was on what it is left from, along and across, where that is known.
    """

    length: int
    width: int
    place: Place | None = None
    shape: int = 0
    began: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut that was recorded: its movement, and the offcuts that are on the rack now."""

    movement: Movement
    offcuts: list[Piece]


@transaction.atomic
def cut_up(
    *,
    piece: Piece,
    left: Sequence[LeftOver],
    parts_area: int,
    by: Person,
    key: str = "",
    account: str = Account.WRITTEN_OFF,
    job_number: str = "",
    note: str = "",
) -> Cut:
    """Use a piece up and put what is left of it on the rack.

    `parts_area` in square ticks; what is neither part nor offcut is waste, kerf in it. Each offcut carries its
    area's share of what the piece carried, times the shop's keep rate; the rest goes to `account` (a job, or
    written off). Refused where the piece is not in the shop, is held for another job, or where parts and
    offcuts are more than the piece.
    """
    if done := ledger.already(by, key):
        leaves = done.others.filter(verb=Verb.LEAVE).select_related("piece").order_by("id")
        return Cut(done, [row.piece for row in leaves if row.piece])
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.ON_RACK, State.PULLED], "cut")
    ledger.refuse_if_held_for_another(piece, job_number)
    waste = _waste_of(piece, left, parts_area)
    carried, place = piece.value, piece.place or pulled_from(piece)
    movement = ledger.record(
        verb=Verb.CUT,
        by=by,
        key=key,
        piece=piece,
        to_state=State.USED,
        value=-carried,
        account=account,
        job_number=job_number,
        parts_area=parts_area,
        waste_area=waste,
        note=note[:200],
    )
    areas = [one.length * one.width for one in left]
    values = carried_back(carried, piece.area, areas, rate=the_shop().keep_rate)
    offcuts = _put_on_rack(piece, left, values, movement=movement, by=by, place=place, account=account)
    return Cut(movement, offcuts)


def rectangles_of_l(
    *, length: int, width: int, gone_length: int, gone_width: int, kerf: int
) -> list[LeftOver]:
    """An L, given by its outer size and the corner that is gone, as the rectangles it is worth.

    One cut parts it, along or across: the way that gives the larger piece is taken, and its kerf comes off the
    smaller. Ticks. Raises Refused where the corner is not smaller than the whole.

    >>> [(one.length, one.width) for one in rectangles_of_l(
    ...     length=90, width=50, gone_length=40, gone_width=30, kerf=1)]
    [(50, 50), (39, 20)]
    """
    if not (0 < gone_length < length and 0 < gone_width < width):
        raise Refused("The corner that is gone has to be smaller than the whole, both ways.")
    ways = [
        [(length, width - gone_width), (length - gone_length, gone_width - kerf)],
        [(length - gone_length, width), (gone_length - kerf, width - gone_width)],
    ]
    best = max(ways, key=lambda way: max(long * wide for long, wide in way))
    real = sorted((size for size in best if min(size) > 0), key=lambda size: -size[0] * size[1])
    return [LeftOver(*size, shape=1) for size in real]


def carried_back(carried: Decimal, area: int, offcut_areas: Sequence[int], *, rate: Decimal) -> list[Decimal]:
    """What each offcut carries back: its area's share of `carried`, times the shop's keep rate.

    Rounded down to the cent, so that together they never carry more than the piece did.
    """
    return [(carried * rate * part / area).quantize(CENT, rounding=ROUND_DOWN) for part in offcut_areas]


def _waste_of(piece: Piece, left: Sequence[LeftOver], parts_area: int) -> int:
    unit = the_shop().unit
    for one in left:
        if not piece.fits(one.length, one.width):
            size = measure.format_size(one.length, one.width, unit)
            whole = measure.format_size(piece.length, piece.width, unit)
            raise Refused(f"An offcut of {size} can't be left from {piece}, which is {whole}.")
    waste = piece.area - parts_area - sum(one.length * one.width for one in left)
    if waste < 0:
        raise Refused(
            f"Parts and offcuts together are more than {piece} is: by "
            f"{measure.format_area(-waste, unit)}. Measure the offcuts again."
        )
    return waste


def _put_on_rack(
    parent: Piece,
    left: Sequence[LeftOver],
    values: Sequence[Decimal],
    *,
    movement: Movement,
    by: Person,
    place: Place | None,
    account: str,
) -> list[Piece]:
    offcuts: list[Piece] = []
    firsts: dict[int, Piece] = {}
    for one, value, code in zip(left, values, take_codes(len(left)), strict=True):
        offcut = Piece.objects.create(
            code=code,
            kind=Piece.Kind.OFFCUT,
            material_id=parent.material_id,
            length=one.length,
            width=one.width,
            thickness=parent.thickness,
            surface=parent.surface,
            parent=parent,
            one_with=firsts.get(one.shape),
            bought_on_id=parent.bought_on_id,
        )
        ledger.record(
            verb=Verb.LEAVE,
            by=by,
            piece=offcut,
            to_state=State.ON_RACK,
            to_place=one.place or place,
            value=value,
            account=account,
            job_number=movement.job_number,
            part_of=movement,
        )
        offcuts.append(offcut)
        if one.shape:
            firsts.setdefault(one.shape, offcut)
    LabelToPrint.objects.bulk_create(LabelToPrint(piece=offcut) for offcut in offcuts)
    return offcuts
