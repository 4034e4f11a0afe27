"""Knots, splits, sap and wane on a piece: rectangles that no part may lie over."""

from collections.abc import Sequence

from django.db import transaction

from inventory import ledger
from inventory.models import Flaw, Piece
from inventory.models.pieces import IN_SHOP
from inventory.receiving import FlawAt
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
