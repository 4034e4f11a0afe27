"""What a material has cost: by each receipt, and by what suppliers asked."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.models import Material, Offer, ReceiptLine
from shared.measure import format_size
from shared.models import Shop
from shared.money import CENT

NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Seen:
    """A price on a day. `each` is for one sheet, board foot or unit; paid ones with freight, tax and discount."""

    day: date
    supplier: str
    what: str
    each: Decimal
    how_many: Decimal | None = None
    receipt_pk: int | None = None
    length: int | None = None
    width: int | None = None

    @property
    def is_paid(self) -> bool:
        return self.receipt_pk is not None


def history(material: Material) -> list[Seen]:
    """Prices paid and asked, oldest first, in two queries."""
    lines = ReceiptLine.objects.filter(material=material).select_related("receipt__supplier")
    offers = Offer.objects.filter(material=material).select_related("supplier")
    return sorted(
        [*map(_paid, lines), *map(_asked, offers)], key=lambda one: (one.day, one.is_paid, one.each)
    )


def _paid(line: ReceiptLine) -> Seen:
    how_many = line.board_feet or line.count
    return Seen(
        line.receipt.date,
        line.receipt.supplier.name,
        f"paid, {line.receipt.number}",
        (line.cost / how_many).quantize(CENT),
        how_many,
        line.receipt_id,
        line.length,
        line.width,
    )


def _asked(offer: Offer) -> Seen:
    return Seen(
        offer.seen_on,
        offer.supplier.name,
        "asked" if offer.is_current else "asked then",
        round(offer.unit_price, 2),
        None,
        None,
        offer.length,
        offer.width,
    )


def as_table(seen: list[Seen], shop: Shop) -> list[list[Any]]:
    """The prices for a file."""
    rows = [
        [
            one.day,
            one.supplier,
            one.what,
            format_size(one.length, one.width, shop.unit) if one.length and one.width else "",
            one.how_many,
            one.each,
        ]
        for one in seen
    ]
    return [["Date", "Supplier", "What", "Size", "How many", "Each"], *rows]
