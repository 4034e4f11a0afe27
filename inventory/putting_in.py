"""What was in the shop before Sawbuck: pieces get a label, goods are counted."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from inventory import ledger
from inventory.models import Account, Flaw, GoodsLot, LabelToPrint, Material, Piece, Place, State, Verb
from shared import tally
from shared.models import Person
from shared.refusal import Refused
from shared.shop import take_codes


@dataclass(frozen=True, slots=True)
class FlawAt:
    """Where a piece has a flaw, in ticks from its corner: x along the length, y across it."""

    x: int
    y: int
    length: int
    width: int
    why: str = ""


@transaction.atomic
def put_in(
    *,
    material: Material,
    kind: str,
    length: int,
    width: int,
    by: Person,
    place: Place | None = None,
    value: Decimal = ledger.NOTHING,
    thickness: int | None = None,
    note: str = "",
    flaws: Sequence[FlawAt] = (),
    key: str = "",
) -> Piece:
    """Give a label to a piece that was in the shop before Sawbuck. It carries what is stated, or nothing.

    Refused where a kind does not go with its material, and where a flaw is not on the piece.
    """
    if done := ledger.already(by, key):
        assert done.piece
        return done.piece
    if material.is_goods:
        raise Refused(f"{material} is counted goods. Receive it by count.")
    if kind == (Piece.Kind.SHEET if material.is_lumber else Piece.Kind.BOARD):
        raise Refused(f"{material} is {material.get_kind_display()}; a {kind} can't be of it.")
    if value < 0:
        raise Refused("A piece can't be worth less than nothing.")
    for number, flaw in enumerate(flaws, 1):
        if flaw.x + flaw.length > length or flaw.y + flaw.width > width:
            raise Refused(f"Flaw {number} is not within the piece. Measure it from the piece's corner.")
    (code,) = take_codes(1)
    piece = Piece.objects.create(
        code=code,
        kind=kind,
        material=material,
        length=length,
        width=width,
        thickness=thickness,
        note=note,
        was_put_in=True,
        board_feet=tally.as_decimal(material.board_feet(width, length)) if material.is_lumber else None,
    )
    ledger.record(
        verb=Verb.PUT_IN,
        by=by,
        key=key,
        piece=piece,
        to_state=State.ON_RACK,
        to_place=place,
        value=value,
        account=Account.SHOP,
    )
    Flaw.objects.bulk_create(
        Flaw(piece=piece, x=flaw.x, y=flaw.y, length=flaw.length, width=flaw.width, why=flaw.why)
        for flaw in flaws
    )
    LabelToPrint.objects.create(piece=piece)
    return piece


@transaction.atomic
def put_in_goods(
    *, material: Material, quantity: Decimal, by: Person, value: Decimal = ledger.NOTHING, key: str = ""
) -> GoodsLot:
    """Count goods that were in the shop before Sawbuck."""
    if done := ledger.already(by, key):
        assert done.lot
        return done.lot
    if not material.is_goods or quantity <= 0:
        raise Refused(f"{material}: count goods, more than none of them.")
    lot = GoodsLot.objects.create(material=material, received=quantity, left=0, cost=value, value=0)
    ledger.record_goods(
        verb=Verb.PUT_IN, by=by, lot=lot, quantity=quantity, value=value, account=Account.SHOP, key=key
    )
    return lot
