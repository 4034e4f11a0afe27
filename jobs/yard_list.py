"""What to ask the yard for: lumber by board feet with the least boards that do, and rolls of edging."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from django.db.models import Sum

from inventory import dressed
from inventory.models import GoodsLot, Material, Offer
from jobs.facing import running_lengths
from jobs.models import BuyLine, Job, Part, Plan
from jobs.sizing import along_grain
from jobs.trees import leaves_of, part_of
from shared.measure import (
    TICKS_PER_FOOT,
    TICKS_PER_INCH,
    TICKS_PER_MM,
    format_length,
    format_length_with_unit,
)
from shared.models import Shop

THOUSANDTH = Decimal("0.001")
ROLL_NOTE = "edging, running length"
# Boards as yards have them, common practice, no source: 8 ft and longer, few under 4 in.
USUAL_LENGTH = 8 * TICKS_PER_FOOT
LEAST_WIDTH = 4 * TICKS_PER_INCH
LEAST_DRESSED = dressed.measured_width(4 * TICKS_PER_INCH)
MOST_SIZES = 3  # named in a line of the buy list
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True)
class Wanted:
    """So many of one part that no board on the rack gives; sawn size in ticks."""

    part: Part
    count: int
    length: int
    width: int


def unplaced_parts(plan: Plan) -> Counter[int]:
    """How many of each part, by its key, the plan could not place; the parts of its blanks among them."""
    blanks = {blank["id"]: leaves_of(blank["tree"]) for blank in plan.problem.get("blanks", ())}
    counts: Counter[int] = Counter()
    for row in plan.answer.get("unplaced", ()):
        for name in blanks.get(row["id"], [row["id"]]):
            counts[part_of(name)] += row["quantity"]
    return counts


def lumber_to_buy(plan: Plan, shop: Shop) -> list[BuyLine]:
    """Lines, not saved, for what the rack's boards don't give: board feet with the shop's waste on net, and
    the least boards that the parts need."""
    missing = unplaced_parts(plan)
    wanted: dict[int, list[Wanted]] = {}
    for part in plan.job.parts.with_materials().filter(pk__in=missing):
        if part.material.is_lumber:
            row = Wanted(part, missing[part.pk], *along_grain(part, shop))
            wanted.setdefault(part.material_id, []).append(row)
    return [_lumber_line(plan.job, rows, shop) for rows in wanted.values()]


def net_board_feet(material: Material, rows: Iterable[Wanted]) -> Fraction:
    """What the parts themselves take, by the thickness and width that their boards are sold by."""
    return sum((material.board_feet(row.width, row.length) * row.count for row in rows), Fraction(0))


def with_waste_on_net(net: Fraction, waste: Decimal) -> Fraction:
    """Board feet to buy: the waste is a share of the net, not of the gross.

    >>> with_waste_on_net(Fraction(40), Decimal("0.2"))
    Fraction(48, 1)
    """
    return net * (1 + Fraction(waste))


def _lumber_line(job: Job, rows: Sequence[Wanted], shop: Shop) -> BuyLine:
    material = rows[0].part.material
    net = net_board_feet(material, rows)
    gross = with_waste_on_net(net, shop.waste_on_net)
    offers = material.offers.current().filter(per=Offer.Per.BOARD_FOOT).select_related("supplier")
    offer = offers.order_by("price").first()
    boards = least_boards(rows, shop.kerf, are_dressed=material.is_dressed)
    feet = f"{float(net):.1f} board feet net and {shop.waste_on_net:.0%} waste on net"
    return BuyLine(
        job=job,
        material=material,
        offer=offer,
        length=boards[0][1],
        width=boards[0][0],
        quantity=max((Decimal(gross.numerator) / gross.denominator).quantize(THOUSANDTH), THOUSANDTH),
        unit="board foot",
        price=offer.price if offer else Decimal("0.00"),
        note=f"{feet}; {boards_in_words(boards, shop, material)}"[:200],
    )


# ---- the least boards -----------------------------------------------------------------------------------


@dataclass(slots=True)
class _Board:
    """A board while parts are laid on it: lengths end to end, each ripped into parts side by side."""

    width: int
    longest: int
    lengths: list[tuple[int, int]] = field(default_factory=list)  # length, width still free

    def takes(self, length: int, width: int, kerf: int) -> bool:
        for index, (long, free) in enumerate(self.lengths):
            if length <= long and width <= free:
                self.lengths[index] = (long, free - width - kerf)
                return True
        there = self.length(kerf) + kerf if self.lengths else 0
        if width > self.width or there + length > self.longest:
            return False
        self.lengths.append((length, self.width - width - kerf))
        return True

    def length(self, kerf: int) -> int:
        return sum(long for long, _ in self.lengths) + kerf * max(0, len(self.lengths) - 1)


def least_boards(rows: Iterable[Wanted], kerf: int, *, are_dressed: bool = False) -> list[tuple[int, int]]:
    """Boards, width and length in ticks, that the parts can be sawn from: an example of what would do, not the
    fewest there could be. Widest parts first, so that narrow ones lie beside them."""
    each = sorted(((row.width, row.length) for row in rows for _ in range(row.count)), reverse=True)
    boards: list[_Board] = []
    for width, length in each:
        if not any(board.takes(length, width, kerf) for board in boards):
            wide = dressed.wide_enough(max(width, LEAST_DRESSED)) if are_dressed else max(width, LEAST_WIDTH)
            board = _Board(wide, max(length, USUAL_LENGTH))
            board.takes(length, width, kerf)
            boards.append(board)
    return [(board.width, board.length(kerf)) for board in boards]


def boards_in_words(boards: Sequence[tuple[int, int]], shop: Shop, material: Material | None = None) -> str:
    """The boards as one asks for them, sizes rounded up to what a yard sorts by; dressed softwood by its name.

    Of many sizes the widest are named, and the rest as one.

    >>> from shared.measure import inches
    >>> boards_in_words([(inches("6 3/4"), inches(93)), (inches(7), inches(96))], Shop())
    'two boards at least 7 in wide and 8 ft long'
    >>> spruce = Material(kind="lumber", thickness_text="2", is_dressed=True)
    >>> boards_in_words([(inches("5 1/2"), inches(90))] * 2, Shop(), spruce)
    'two 2 × 6 at least 8 ft long'
    >>> boards_in_words([(inches(5 + n), inches(96)) for n in range(6)], Shop()).partition("9 in wide")[2]
    ' and 8 ft long, four more at least 8 in wide and 8 ft long'
    """
    is_dressed = material is not None and material.is_dressed
    sizes = Counter(
        (
            material.sold_width(width) if material and is_dressed else _up(width, shop, across=True),
            _up(length, shop),
        )
        for width, length in boards
    )
    rows = sorted(sizes.items(), reverse=True)
    named, rest = (rows, []) if len(rows) <= MOST_SIZES else (rows[: MOST_SIZES - 1], rows[MOST_SIZES - 1 :])

    def said(count: int, size: tuple[int, int], what: str) -> str:
        wide, long = format_length_with_unit(size[0], shop.unit), _long(size[1], shop)
        if material and is_dressed:
            return f"{_number(count)} {material.thickness_text} × {format_length(size[0], 'in')} at least {long} long"
        return f"{_number(count)} {what} at least {wide} wide and {long} long"

    words = [said(count, size, "board" if count == 1 else "boards") for size, count in named]
    if rest:
        largest = max(width for (width, _), _ in rest), max(length for (_, length), _ in rest)
        words.append(said(sum(count for _, count in rest), largest, "more"))
    return ", ".join(words)


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _up(ticks: int, shop: Shop, *, across: bool = False) -> int:
    step = TICKS_PER_INCH if across else TICKS_PER_FOOT
    if shop.unit == "mm":
        step = (10 if across else 100) * TICKS_PER_MM
    return -(-ticks // step) * step


def _long(ticks: int, shop: Shop) -> str:
    return f"{ticks // TICKS_PER_FOOT} ft" if shop.unit == "in" else format_length_with_unit(ticks, "mm")


# ---- rolls ----------------------------------------------------------------------------------------------


def rolls_to_buy(plan: Plan, shop: Shop) -> list[BuyLine]:
    """Lines, not saved, for iron-on or rolled edging: the faced edges' running length, less what is there."""
    parts = plan.job.parts.listed().to_cut().with_materials()
    lines = []
    for roll, ticks in running_lengths(parts, shop).items():
        per_unit = TICKS_PER_FOOT if roll.unit.lower() in ("foot", "feet", "ft") else 1000 * TICKS_PER_MM
        needed = (Decimal(ticks) / per_unit).quantize(THOUSANDTH)
        left = GoodsLot.objects.filter(material=roll).aggregate(n=Sum("left"))["n"] or Decimal(0)
        if needed > left:
            offer = roll.offers.current().select_related("supplier").order_by("price").first()
            lines.append(
                BuyLine(
                    job=plan.job,
                    material=roll,
                    offer=offer,
                    quantity=needed - left,
                    unit=roll.unit,
                    price=round(offer.unit_price, 2) if offer else Decimal("0.00"),
                    note=ROLL_NOTE,
                )
            )
    return lines
