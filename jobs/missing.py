"""What a plan could not place, and what it buys, as pages and prints show it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Max

from inventory.models import Piece
from jobs.models import BuyLine, Layout, MatchSet, Part, Plan
from jobs.sawlist import part_id
from jobs.sizing import along_grain, sawn_size
from jobs.trees import leaves_of, part_of
from jobs.yard_list import lumber_to_buy, rolls_to_buy, unplaced_parts
from shared.measure import format_length, format_length_with_unit, format_size
from shared.models import Shop

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Parts that could not be placed, and what would do."""

    name: str
    count: int
    size: str
    why: str


@dataclass(frozen=True, slots=True)
class ToBuy:
    """A line of what the plan buys; `size` is text in the shop's unit."""

    material: str
    quantity: str
    size: str
    supplier: str
    price: Decimal
    cost: Decimal
    note: str = ""


def unplaced(plan: Plan, parts: Iterable[Part], shop: Shop) -> list[Unplaced]:
    """Parts and sets that no sheet gives. Lumber is bought by the board foot instead; only what no board can
    be wide enough for stands here."""
    by_id = {part_id(part): part for part in parts}
    blanks = {blank["id"]: blank for blank in plan.problem.get("blanks", ())}
    found = []
    for row in plan.answer.get("unplaced", ()):
        part = by_id.get(row["id"])
        if part is not None and not part.material.is_lumber:
            size = format_size(*sawn_size(part, shop), shop.unit)
            found.append(Unplaced(part.name, row["quantity"], size, row.get("why", "")))
        elif row["id"] in blanks:
            names = leaves_of(blanks[row["id"]]["tree"])
            what = f"{len(names)} parts side by side"
            found.append(Unplaced(row["id"], row["quantity"], what, f"{row.get('why', '')} {SPLIT_THE_SET}"))
    return [*found, *_too_wide(plan, by_id, shop)]


SPLIT_THE_SET = "Or give some of its parts another match set, or none."


def _too_wide(plan: Plan, by_id: Mapping[str, Part], shop: Shop) -> list[Unplaced]:
    """Solid parts, and blanks that may not be glued up, wider than the widest board there is."""
    missing = unplaced_parts(plan)
    solid = [part for part in by_id.values() if part.material.is_lumber and missing[part.pk]]
    in_shop = Piece.objects.in_shop().filter(material__in={part.material_id for part in solid})
    widest = dict(in_shop.order_by().values_list("material").annotate(n=Max("width")))
    found = []
    for part in solid:
        _, width = along_grain(part, shop)
        there = widest.get(part.material_id)
        if part.kind == Part.Kind.STRIP or there is None or width <= there or _is_glued(part, plan):
            continue
        why = (
            f"It is wider than any board of {part.material}: {format_length(width, shop.unit)} against "
            f"{format_length_with_unit(there, shop.unit)}. "
            f"Let {_asked_where(part)} be glued up from staves, or buy a wider board."
        )
        size = format_size(*sawn_size(part, shop), shop.unit)
        found.append(Unplaced(part.name, missing[part.pk], size, why))
    return found


def _asked_where(part: Part) -> str:
    return "its match set" if part.kind == Part.Kind.STAVE else "it"


def _is_glued(part: Part, plan: Plan) -> bool:
    if part.kind != Part.Kind.STAVE:
        return part.may_be_glued
    assert part.blank
    first = Part.objects.filter(pk=part_of(leaves_of(part.blank.tree)[0])).first()
    if first is None or not first.match_set:
        return first is None or first.may_be_glued
    return MatchSet.objects.filter(job=plan.job_id, name=first.match_set, may_be_glued=True).exists()


def bought_by_measure(plan: Plan, shop: Shop) -> list[ToBuy]:
    """Lumber by the board foot and rolls by the length that the plan needs and the rack does not give."""
    return [
        *(_line(line, f"{line.quantity:.1f} board feet") for line in lumber_to_buy(plan, shop)),
        *(_line(line, f"{line.quantity.normalize():f} {line.unit}") for line in rolls_to_buy(plan, shop)),
    ]


def _line(line: BuyLine, quantity: str) -> ToBuy:
    return ToBuy(
        line.material.name,
        quantity,
        "",  # the note has the boards
        line.offer.supplier.name if line.offer else "",
        line.price,
        line.guessed_cost.quantize(CENT),
        line.note,
    )


def sheets_to_buy(layouts: Iterable[Layout], shop: Shop) -> list[ToBuy]:
    """A line for each size of sheet that the layouts buy."""
    groups: dict[Any, list[Layout]] = defaultdict(list)
    for layout in layouts:
        if layout.piece is None:
            groups[layout.offer_id, layout.material_id, layout.length, layout.width].append(layout)
    return [
        ToBuy(
            same[0].material.name,
            "1 sheet" if len(same) == 1 else f"{len(same)} sheets",
            format_size(same[0].length, same[0].width, shop.unit),
            same[0].offer.supplier.name if same[0].offer else "",
            same[0].price,
            same[0].price * len(same),
        )
        for same in groups.values()
    ]
