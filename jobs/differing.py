"""Why a job costs other than was estimated, by material: price, another piece, spoiled parts, offcuts, quantity.

Each material's reasons add up to its difference to the cent: what has a reason of its own is reckoned first, and what
is left is how much was used.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from django.db.models import F, Sum

from inventory.models import Material, Movement, Piece, Verb
from jobs import estimating
from jobs.expecting import Expected, carried, is_on_its_way
from jobs.models import BuyLine, Charge, EstimateLine, Job, Spoiled
from shared.codes import grouped
from shared.money import CENT, cost_of

NOTHING = Decimal("0.00")
Sort = EstimateLine.Sort


@dataclass(slots=True)
class Used:
    """One piece of a job: cut for it already, or still to be."""

    piece: Piece
    worth: Decimal
    is_bought: bool


@dataclass(slots=True)
class MaterialDifference:
    """One material of a job: its estimate, what was charged, what is to come, and why they differ."""

    material: Material
    lines: list[EstimateLine] = field(default_factory=list)
    actual: Decimal = NOTHING
    to_come: Decimal = NOTHING
    reasons: list[tuple[str, Decimal]] = field(default_factory=list)

    @property
    def estimate(self) -> Decimal:
        return estimating.total_of(self.lines)

    @property
    def difference(self) -> Decimal:
        """Charged and to come, less the estimate: above zero it costs more."""
        return self.actual + self.to_come - self.estimate

    def sum_of(self, *sorts: str) -> Decimal:
        return estimating.total_of(line for line in self.lines if line.sort in sorts)


@dataclass(frozen=True, slots=True)
class Known:
    """What a job's page has loaded of it: its estimate, what was charged and sawn, what is still to be sawn and
    bought, and what its goods will still cost."""

    estimate: list[EstimateLine]
    charges: list[Charge]
    sawn: list[Movement]
    expected: Expected
    outstanding: list[BuyLine]
    goods: Mapping[Material, Decimal]


def differences(job: Job, known: Known) -> list[MaterialDifference]:
    """A row for each material of the estimate, the charges and what is to come, by name. Reasons are only given
    for a job that has an estimate."""
    found: dict[int, MaterialDifference] = {}
    for line in known.estimate:
        found.setdefault(line.material_id, MaterialDifference(line.material)).lines.append(line)
    for charge in known.charges:
        thing = charge.movement.piece or charge.movement.lot
        assert thing
        row = found.setdefault(thing.material_id, MaterialDifference(thing.material))
        row.actual += charge.amount
    coming = _to_come(known)
    for pk, amount in coming.total.items():
        found.setdefault(pk, MaterialDifference(coming.materials[pk])).to_come = amount
    if known.estimate and job.estimated_at:
        _give_reasons(job, found, known, coming)
    return sorted(found.values(), key=lambda row: row.material.name)


# ---- what is still to come --------------------------------------------------------------------------------


@dataclass(slots=True)
class _Coming:
    """What a job will still be charged, by material."""

    pieces: dict[int, list[Used]] = field(default_factory=lambda: defaultdict(list))
    back: dict[int, Decimal] = field(default_factory=lambda: defaultdict(lambda: NOTHING))
    lines: dict[int, list[BuyLine]] = field(default_factory=lambda: defaultdict(list))
    total: dict[int, Decimal] = field(default_factory=lambda: defaultdict(lambda: NOTHING))

    materials: dict[int, Material] = field(default_factory=dict)

    def add(self, material: Material, amount: Decimal) -> None:
        self.materials[material.pk] = material
        self.total[material.pk] += amount


def _to_come(known: Known) -> _Coming:
    coming = _Coming()
    _layouts_to_come(known.expected, coming)
    for line in known.outstanding:
        coming.lines[line.material_id].append(line)
        coming.add(line.material, cost_of(line.still_to_come, line.price))
    for material, amount in known.goods.items():
        coming.add(material, amount)
    return coming


def _layouts_to_come(expected: Expected, coming: _Coming) -> None:
    for layout in expected.layouts:
        if layout.piece:
            used = Used(layout.piece, carried(layout), layout.piece_id in expected.bought)
            coming.pieces[layout.material_id].append(used)
        coming.add(layout.material, NOTHING if is_on_its_way(layout) else carried(layout))
    for board in expected.boards:
        coming.pieces[board.material_id].append(Used(board, board.value, True))
        coming.add(board.material, board.value)
    for pk, back in expected.back.items():
        coming.back[pk] = back
        coming.total[pk] -= back


# ---- why --------------------------------------------------------------------------------------------------


def _give_reasons(job: Job, found: dict[int, MaterialDifference], known: Known, coming: _Coming) -> None:
    assert job.estimated_at
    cut: dict[int, dict[int, Used]] = defaultdict(dict)
    back: dict[int, Decimal] = defaultdict(lambda: NOTHING)
    issued: dict[int, Decimal] = defaultdict(Decimal)
    bought = known.expected.bought
    # What was charged before stands in the estimate as it was: it needs no reason.
    charges = [one for one in known.charges if one.at >= job.estimated_at]
    for charge in charges:
        piece, lot = charge.movement.piece, charge.movement.lot
        if lot:
            issued[lot.material_id] -= charge.movement.quantity
        elif piece and charge.sort == Charge.Sort.OFFCUT:
            back[piece.material_id] += charge.amount
        elif piece:
            used = cut[piece.material_id].setdefault(piece.pk, Used(piece, NOTHING, piece.pk in bought))
            used.worth += charge.amount
    areas = _areas_cut(job, known.sawn)
    spoiled = _spoiled(job) if areas else {}
    for pk, row in found.items():
        if row.material.is_goods:
            reasons = [("price", _goods_price(row, issued[pk]))]
        else:
            used_up = [one for one in cut[pk].values() if one.worth]
            pieces = [*used_up, *coming.pieces[pk]]
            reasons = [
                ("price", _price(row, pieces, coming.lines[pk])),
                *_another_piece(row, pieces),
                *_of_spoiled(spoiled.get(pk), areas.get(pk, 0), row.actual - row.sum_of(Sort.CHARGED)),
                (
                    "offcuts give back other than estimated",
                    back[pk] - coming.back[pk] - row.sum_of(Sort.BACK),
                ),
            ]
        rest = row.difference - sum((amount for _, amount in reasons), NOTHING)
        more = "more used than estimated" if rest > 0 else "less used than estimated"
        more = more if row.lines else "not in the estimate"
        row.reasons = [(words, amount) for words, amount in [*reasons, (more, rest)] if amount]


def _price(row: MaterialDifference, pieces: list[Used], lines: list[BuyLine]) -> Decimal:
    """What pieces and purchases that were estimated cost more than was estimated for them."""
    priced = {line.piece_id: line.amount for line in row.lines if line.piece_id}
    rack = [one.worth - priced[one.piece.pk] for one in pieces if one.piece.pk in priced]
    return sum(rack, NOTHING) + _price_of_purchases(row, pieces, lines)


def _price_of_purchases(row: MaterialDifference, pieces: list[Used], lines: list[BuyLine]) -> Decimal:
    """Purchases in the order they were made against the estimate's: sheet by sheet, boards by the board foot."""
    wanted = [line for line in row.lines if line.sort in (Sort.BUY, Sort.LUMBER)]
    quantity = sum((line.quantity for line in wanted), Decimal(0))
    if not quantity:
        return NOTHING
    each = Fraction(sum((line.amount for line in wanted), NOTHING)) / Fraction(quantity)
    got = [(_measure(one, row.material), one.worth) for one in pieces if one.is_bought]
    got += [(line.still_to_come, cost_of(line.still_to_come, line.price)) for line in lines]
    more, left = Fraction(0), Fraction(quantity)
    for many, worth in got:
        if many > 0 and left > 0:
            part = min(Fraction(many), left)
            more += Fraction(worth) * part / Fraction(many) - each * part
            left -= part
    return _cents(more)


def _measure(one: Used, material: Material) -> Decimal:
    """What a piece is bought by: itself, or for lumber its board feet."""
    if not material.is_lumber:
        return Decimal(1)
    return one.piece.tally_board_feet or one.piece.board_feet or Decimal(1)


def _another_piece(row: MaterialDifference, pieces: list[Used]) -> list[tuple[str, Decimal]]:
    """Pieces of the rack that stood in for estimated ones, pair by pair."""
    here = {one.piece.pk for one in pieces}
    missing = [line for line in row.lines if line.sort == Sort.RACK and line.piece_id not in here]
    estimated = {line.piece_id for line in row.lines}
    others = [one for one in pieces if not one.is_bought and one.piece.pk not in estimated]
    pairs = list(zip(missing, others, strict=False))
    if not pairs:
        return []
    line, other = pairs[0]
    words = f"{grouped(other.piece.code)} pulled instead of {grouped(line.note)}"
    if len(pairs) > 1:
        words += f", and {len(pairs) - 1} more such"
    return [(words, sum((one.worth - line.amount for line, one in pairs), NOTHING))]


def _of_spoiled(spoiled: tuple[int, int] | None, area: int, cost: Decimal) -> list[tuple[str, Decimal]]:
    """The spoiled parts' share, by area, of what the material was charged."""
    if not spoiled or not area:
        return []
    count, wasted = spoiled
    words = "1 part spoiled" if count == 1 else f"{count} parts spoiled"
    return [(words, _cents(Fraction(cost) * min(wasted, area) / area))]


def _goods_price(row: MaterialDifference, issued: Decimal) -> Decimal:
    quantity = sum((line.quantity for line in row.lines if line.sort == Sort.GOODS), Decimal(0))
    if not quantity or issued <= 0:
        return NOTHING
    each = Fraction(row.sum_of(Sort.GOODS)) / Fraction(quantity)
    part = min(Fraction(issued), Fraction(quantity))
    return _cents((Fraction(row.actual - row.sum_of(Sort.CHARGED)) / Fraction(issued) - each) * part)


def _spoiled(job: Job) -> dict[int, tuple[int, int]]:
    """By material: how many parts were spoiled, and their area in square ticks."""
    rows = (
        Spoiled.objects.filter(part__job=job, is_undone=False, at__gte=job.estimated_at)
        .order_by()
        .values("part__material")
        .annotate(n=Sum("count"), area=Sum(F("count") * F("part__length") * F("part__width")))
    )
    return {row["part__material"]: (row["n"], row["area"]) for row in rows}


def _areas_cut(job: Job, sawn: Iterable[Movement]) -> dict[int, int]:
    """By material: the area of all parts cut for a job since it was estimated, in square ticks."""
    assert job.estimated_at
    areas: dict[int, int] = defaultdict(int)
    for movement in sawn:
        if movement.verb == Verb.CUT and movement.at >= job.estimated_at:
            assert movement.piece
            areas[movement.piece.material_id] += movement.parts_area
    return areas


def _cents(amount: Fraction) -> Decimal:
    return (Decimal(amount.numerator) / Decimal(amount.denominator)).quantize(CENT)
