"""What a job may be cut from, and all of it as a problem of the planning format (jobs/cutting/FORMAT.md)."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from inventory.models import Material, Offer, Piece
from jobs.models import Job, Part
from jobs.sawlist import SawList, material_id
from shared.measure import exact_text
from shared.models import Shop


def offer_id(offer: Offer) -> str:
    """How a problem names a sheet to buy."""
    return f"buy-{offer.pk}"


@dataclass(frozen=True, slots=True)
class Rack:
    """What a job may be cut from: pieces grouped where they are alike, and sheets on offer.

    `pieces` maps a problem's stock id (the first code of its group) to the group's pieces.
    """

    pieces: dict[str, list[Piece]]
    offers: dict[str, Offer]


def rack_for(job: Job, parts: Iterable[Part]) -> Rack:
    """The pieces free for the job and the offers of the materials its parts may be cut from."""
    materials = {m.pk for part in parts for m in (part.material, *part.also.all())}
    groups: dict[Any, list[Piece]] = defaultdict(list)
    found = (
        Piece.objects.free_for(job.pk)
        .filter(material__in=materials)
        .select_related("material", "place")
        .prefetch_related("flaws")
        .order_by("made_at", "pk")
    )
    for piece in found:
        alike = (piece.kind, piece.material_id, piece.length, piece.width, piece.value)
        groups[piece.code if piece.flaws.all() else alike].append(piece)
    cheapest: dict[Any, Offer] = {}
    for offer in Offer.objects.current().filter(material__in=materials, per=Offer.Per.SHEET):
        size = (offer.material_id, offer.length, offer.width)
        if size not in cheapest or offer.price < cheapest[size].price:
            cheapest[size] = offer
    return Rack(
        {group[0].code: group for group in groups.values()},
        {offer_id(offer): offer for offer in cheapest.values()},
    )


def problem_for(shop: Shop, todo: SawList, rack: Rack) -> dict[str, Any]:
    """The job as a problem: what is still to be sawn, and the rack with what can be bought."""
    unit = shop.unit
    return {
        "unit": unit,
        "kerf": exact_text(shop.kerf, unit),
        "stages": shop.stages,
        "first_cut": shop.first_cut,
        "keep": {
            "length": exact_text(shop.keep_length, unit),
            "width": exact_text(shop.keep_width, unit),
            "rate": str(shop.keep_rate),
        },
        "time_limit_s": shop.planning_seconds,
        "seed": 0,
        "stock": [*_rack_rows(rack, shop), *_offer_rows(rack, shop)],
        "parts": todo.problem_parts(shop),
        "blanks": todo.problem_blanks(),
    }


def _rack_rows(rack: Rack, shop: Shop) -> Iterator[dict[str, Any]]:
    for code, group in rack.pieces.items():
        yield rack_row(group[0], shop, len(group)) | {"id": code}


def rack_row(piece: Piece, shop: Shop, quantity: int = 1) -> dict[str, Any]:
    """So many pieces like this one as a problem's stock names them."""
    row = {
        "id": piece.code,
        "material": material_id(piece.material),
        "length": exact_text(piece.length, shop.unit),
        "width": exact_text(piece.width, shop.unit),
        "cost": str(piece.value),
        "quantity": quantity,
        "grain": "length" if piece.material.is_grained else "none",
    }
    if piece.material.is_lumber:
        row["first_cut"] = shop.board_first_cut
    if trim := trim_of(piece, shop):
        row["trim"] = exact_text(trim, shop.unit)
    if defects := defects_of(piece, shop):
        row["defects"] = defects
    return row


def defects_of(piece: Piece, shop: Shop) -> list[dict[str, str]]:
    """A piece's flaws as a problem has them, always in the same order."""
    return [
        {key: exact_text(getattr(flaw, key), shop.unit) for key in ("x", "y", "length", "width")}
        for flaw in sorted(piece.flaws.all(), key=lambda flaw: (flaw.x, flaw.y, flaw.pk))
    ]


def trim_of(piece: Piece, shop: Shop) -> int:
    """Only factory edges are trimmed; an offcut's edges are the shop's own."""
    return shop.trim if piece.kind == Piece.Kind.SHEET else 0


def _offer_rows(rack: Rack, shop: Shop) -> Iterator[dict[str, Any]]:
    materials = Material.objects.in_bulk({offer.material_id for offer in rack.offers.values()})
    for name, offer in rack.offers.items():
        yield {
            "id": name,
            "material": material_id(materials[offer.material_id]),
            "length": exact_text(offer.sheet_length, shop.unit),
            "width": exact_text(offer.sheet_width, shop.unit),
            "cost": str(offer.price),
            "trim": exact_text(shop.trim, shop.unit),
            "grain": "length" if materials[offer.material_id].is_grained else "none",
            "buy": True,
        }
