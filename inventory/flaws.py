"""Knots, splits, sap and wane on a piece: rectangles that no part may lie over."""

from collections.abc import Sequence

from django.db import transaction

from inventory import ledger
from inventory.models import Flaw, Piece
from inventory.models.pieces import IN_SHOP
from inventory.putting_in import FlawAt
from shared.refusal import Refused


@transaction.atomic
def mark(*, piece: Piece, flaws: Sequence[FlawAt]) -> list[Flaw]:
    """Set a piece's flaws to these, in ticks from its corner: what was marked before and is not among them is
    gone. Refused for a piece that is not in the shop, and for a flaw that is not on the piece."""
    piece = ledger.locked(piece)
    if piece.state not in IN_SHOP:
        raise Refused(f"{piece} is {piece.get_state_display()}; only what is in the shop can be marked.")
    for number, flaw in enumerate(flaws, 1):
        if flaw.x + flaw.length > piece.length or flaw.y + flaw.width > piece.width:
            raise Refused(f"Flaw {number} is not within the piece. Measure it from the piece's corner.")
    piece.flaws.all().delete()
    return Flaw.objects.bulk_create(
        Flaw(piece=piece, x=flaw.x, y=flaw.y, length=flaw.length, width=flaw.width, why=flaw.why)
        for flaw in flaws
    )


def pass_on(piece: Piece, offcut: Piece, x: int, y: int) -> None:
    """What is left of a piece has the flaws that lie on it: the offcut began at x, y of the piece, in ticks."""
    for flaw in piece.flaws.all():
        marked = FlawAt(flaw.x, flaw.y, flaw.length, flaw.width, flaw.why)
        if there := within(marked, x, y, offcut.length, offcut.width):
            Flaw.objects.create(
                piece=offcut, x=there.x, y=there.y, length=there.length, width=there.width, why=there.why
            )


def within(flaw: FlawAt, x: int, y: int, length: int, width: int) -> FlawAt | None:
    """The part of a flaw that lies on a rectangle at x, y, measured from there; None where none does.

    >>> within(FlawAt(60, 0, 4, 2, "knot"), 50, 1, 12, 5)
    FlawAt(x=10, y=0, length=2, width=1, why='knot')
    """
    left, top = max(flaw.x - x, 0), max(flaw.y - y, 0)
    right, bottom = min(flaw.x + flaw.length - x, length), min(flaw.y + flaw.width - y, width)
    if right <= left or bottom <= top:
        return None
    return FlawAt(left, top, right - left, bottom - top, flaw.why)
