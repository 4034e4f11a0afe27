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
from jobs import estimating, expecting
from jobs.models import BuyLine, Charge, EstimateLine, Job, Layout, Plan, Spoiled
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


def differences(
    job: Job,
    charges: Iterable[Charge],
    outstanding: Iterable[BuyLine],
    goods_to_come: Mapping[int, Decimal],
) -> list[MaterialDifference]:
    """A row for each material of the estimate, the charges and what is to come, by name, in a fixed number of
    queries. Reasons are only given for a job that has an estimate."""
    found: dict[int, MaterialDifference] = {}
    lines = list(job.estimate_lines.select_related("material", "piece"))
    for line in lines:
        found.setdefault(line.material_id, MaterialDifference(line.material)).lines.append(line)
    for charge in charges:
        thing = charge.movement.piece or charge.movement.lot
        assert thing
        row = found.setdefault(thing.material_id, MaterialDifference(thing.material))
        row.actual += charge.amount
    coming = _to_come(job, outstanding, goods_to_come)
    unknown = Material.objects.in_bulk([pk for pk in coming.total if pk not in found])
    for pk, amount in coming.total.items():
        row = found.setdefault(pk, MaterialDifference(unknown.get(pk) or found[pk].material))
        row.to_come = amount
    if lines and job.estimated_at:
        # What was charged before stands in the estimate as it was: it needs no reason.
        _give_reasons(job, found, [one for one in charges if one.at >= job.estimated_at], coming)
    return sorted(found.values(), key=lambda row: row.material.name)


# ---- what is still to come --------------------------------------------------------------------------------


@dataclass(slots=True)
class _Coming:
    """What a job will still be charged, by material."""

    pieces: dict[int, list[Used]] = field(default_factory=lambda: defaultdict(list))
    back: dict[int, Decimal] = field(default_factory=lambda: defaultdict(lambda: NOTHING))
    lines: dict[int, list[BuyLine]] = field(default_factory=lambda: defaultdict(list))
    total: dict[int, Decimal] = field(default_factory=lambda: defaultdict(lambda: NOTHING))


def _to_come(job: Job, outstanding: Iterable[BuyLine], goods_to_come: Mapping[int, Decimal]) -> _Coming:
    coming = _Coming()
    plan = Plan.objects.accepted().filter(job=job).first()
    if plan:
        _layouts_to_come(plan, coming)
    for line in outstanding:
        coming.lines[line.material_id].append(line)
        coming.total[line.material_id] += cost_of(line.still_to_come, line.price)
    for pk, amount in goods_to_come.items():
        coming.total[pk] += amount
    return coming


def _layouts_to_come(plan: Plan, coming: _Coming) -> None:
    waiting = list(plan.layouts.filter(state=Layout.State.TO_CUT).select_related("piece", "buy_line"))
    bought = _bought_for(plan.job_id, [layout.piece_id for layout in waiting if layout.piece_id])
    for layout in waiting:
        if layout.piece:
            worth = layout.piece.value if layout.piece.is_in_shop else layout.price
            used = Used(layout.piece, worth, layout.piece_id in bought)
            coming.pieces[layout.material_id].append(used)
            coming.total[layout.material_id] += worth
    for board in expecting.boards_in_no_layout(plan.job, waiting):
        coming.pieces[board.material_id].append(Used(board, board.value, True))
        coming.total[board.material_id] += board.value
    for pk in {layout.material_id for layout in waiting}:
        back = expecting.given_back(plan, [layout for layout in waiting if layout.material_id == pk])
        coming.back[pk] = back
        coming.total[pk] -= back


def _bought_for(job_pk: int, piece_pks: Iterable[int | None]) -> set[int]:
    """Those of the pieces that came on a line of the job's own buy list."""
    found = Piece.objects.filter(pk__in=list(piece_pks), receipt_line__buy_lines__job=job_pk)
    return set(found.values_list("pk", flat=True))


# ---- why --------------------------------------------------------------------------------------------------


def _give_reasons(
    job: Job, found: dict[int, MaterialDifference], charges: list[Charge], coming: _Coming
) -> None:
    cut: dict[int, dict[int, Used]] = defaultdict(dict)
    back: dict[int, Decimal] = defaultdict(lambda: NOTHING)
    issued: dict[int, Decimal] = defaultdict(Decimal)
    sawn = [one.movement.piece_id for one in charges if one.sort == Charge.Sort.STOCK]
    bought = _bought_for(job.pk, sawn)
    for charge in charges:
        piece, lot = charge.movement.piece, charge.movement.lot
        if lot:
            issued[lot.material_id] -= charge.movement.quantity
        elif piece and charge.sort == Charge.Sort.OFFCUT:
            back[piece.material_id] += charge.amount
        elif piece:
            used = cut[piece.material_id].setdefault(piece.pk, Used(piece, NOTHING, piece.pk in bought))
            used.worth += charge.amount
    spoiled = _spoiled(job)
    areas = _areas_cut(job)
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


def _areas_cut(job: Job) -> dict[int, int]:
    """By material: the area of all parts cut for a job, in square ticks."""
    cuts = Movement.objects.standing().filter(verb=Verb.CUT, job_number=job.number, at__gte=job.estimated_at)
    rows = cuts.order_by().values("piece__material").annotate(area=Sum("parts_area"))
    return {row["piece__material"]: row["area"] for row in rows}


def _cents(amount: Fraction) -> Decimal:
    return (Decimal(amount.numerator) / Decimal(amount.denominator)).quantize(CENT)
