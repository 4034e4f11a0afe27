"""What the labels say, and which wait to be printed."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, cast

from django.db.models import Q, QuerySet
from django.utils import timezone

from inventory.labels import LabelFace, came_from
from inventory.labels.faces import Kind
from inventory.models import LabelToPrint, Material, Piece, Place
from inventory.models.pieces import IN_SHOP
from shared import measure
from shared.refusal import Refused
from shared.shop import scan_address

Thing = Piece | Place | Material


def faces(things: Iterable[Thing], shop: Any) -> list[LabelFace]:
    """The labels of these things, in their order. Refused where the shop's scan address can't be printed."""
    try:
        return [face_of(thing, shop) for thing in things]
    except ValueError as error:
        raise Refused(str(error)) from error


def face_of(thing: Thing, shop: Any) -> LabelFace:
    """What the label of a piece, a place or a shelf of goods says. Never a price: labels are for everyone."""
    if isinstance(thing, Piece):
        return _face_of_piece(thing, shop)
    is_place = isinstance(thing, Place)
    return LabelFace(
        code=thing.code,
        address=scan_address(shop, thing.code),
        heading=thing.name,
        lines=_about_place(thing) if isinstance(thing, Place) else _about_goods(thing),
        size_text="",
        grain="none",
        kind="place" if is_place else "goods",
        length=0,
        width=0,
    )


def _face_of_piece(piece: Piece, shop: Any) -> LabelFace:
    return LabelFace(
        code=piece.code,
        address=scan_address(shop, piece.code),
        heading=piece.material.name,
        lines=_about_piece(piece, shop),
        size_text=measure.format_size(piece.length, piece.width, shop.unit),
        grain="length" if piece.material.is_grained else "none",
        kind=cast("Kind", piece.kind),
        length=piece.length,
        width=piece.width,
    )


def _about_piece(piece: Piece, shop: Any) -> tuple[str, ...]:
    """The note, a thickness that is not its material's, and where it came from."""
    lines = [piece.note] if piece.note else []
    if piece.thickness:
        lines.append(f"{measure.format_length_with_unit(piece.thickness, shop.unit)} thick")
    made_on = timezone.localdate(piece.made_at)
    if piece.parent:
        return (*lines, came_from(piece.parent.code, made_on))
    origin = piece.receipt_line.receipt.supplier if piece.receipt_line else "put in"
    return (*lines, f"{origin}, {made_on.day} {made_on:%b %Y}")


def _about_place(place: Place) -> tuple[str, ...]:
    return (f"in {place.within}",) if place.within else ()


def _about_goods(material: Material) -> tuple[str, ...]:
    reorder: Decimal | None = material.reorder_point
    order = f"order at {reorder.normalize():f} {material.unit}" if reorder else ""
    return tuple(line for line in (f"counted in {material.unit}", order) if line)


# ---- the queue --------------------------------------------------------------------------------------------


def _queue() -> QuerySet[LabelToPrint]:
    """Without the labels of what was cut up, lost or undone before they were printed."""
    return LabelToPrint.objects.filter(Q(piece__isnull=True) | Q(piece__state__in=IN_SHOP))


def waiting_count() -> int:
    """How many labels wait to be printed."""
    return _queue().count()


def waiting(most: int | None = None) -> list[Thing]:
    """What waits to be printed, the longest waiting first."""
    from_where = ["piece__parent", "piece__receipt_line__receipt__supplier"]
    rows = _queue().select_related("piece__material", *from_where, "place__within", "material")
    things = (row.piece or row.place or row.material for row in rows[:most])
    return [thing for thing in things if thing is not None]


def things_with(codes: Sequence[str]) -> list[Thing]:
    """The pieces, places and shelves of goods with these codes, in that order; others are left out."""
    pieces = Piece.objects.select_related("material", "parent", "receipt_line__receipt__supplier")
    found: dict[str, Thing] = {}
    for things in (pieces, Place.objects.select_related("within"), Material.objects.all()):
        found |= {thing.code: thing for thing in things.filter(code__in=codes)}
    return [found[code] for code in dict.fromkeys(codes) if code in found]


def ask_for(thing: Thing) -> None:
    """Put a label into the queue; once is enough."""
    column: dict[str, Any] = {type(thing).__name__.lower(): thing}
    LabelToPrint.objects.get_or_create(**column)


def printed(codes: Sequence[str]) -> int:
    """Take labels that are printed out of the queue; returns how many waited there."""
    count = 0
    for column in ("piece", "place", "material"):
        count += LabelToPrint.objects.filter(**{f"{column}__code__in": codes}).delete()[0]
    return count
