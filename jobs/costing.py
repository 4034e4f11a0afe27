"""What a job costs in material: planned against actual.

Every figure is a sum of charges, and each charge is a movement's: the ledger's totals and these agree.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Q

from inventory.models import Movement, Piece, Verb
from jobs.differing import Known, MaterialDifference, differences
from jobs.estimating import goods_to_come
from jobs.expecting import expected
from jobs.models import BuyLine, Charge, EstimateLine, GoodsWanted, Job
from shared.models import Shop
from shared.money import cost_of
from shared.shop import the_shop

NOTHING = Decimal("0.00")


@dataclass(slots=True)
class MaterialCost:
    """One material of a job. Money in the shop's currency; how many pieces were cut and how many came back."""

    name: str
    pk: int
    stock: Decimal = NOTHING
    given_back: Decimal = NOTHING
    goods: Decimal = NOTHING
    pieces: int = 0
    offcuts_used: int = 0
    offcuts_left: int = 0

    @property
    def actual(self) -> Decimal:
        return self.stock + self.given_back + self.goods


@dataclass(frozen=True, slots=True)
class JobCost:
    """A job's material: what was planned, what the ledger says, what is still to come."""

    planned: Decimal | None
    stock: Decimal
    given_back: Decimal
    goods: Decimal
    still_to_cut: Decimal
    to_buy: Decimal
    materials: list[MaterialCost]
    charges: list[Charge] = field(default_factory=list)
    outstanding: list[BuyLine] = field(default_factory=list)
    goods_to_come: Decimal = NOTHING
    differences: list[MaterialDifference] = field(default_factory=list)
    estimate_lines: list[EstimateLine] = field(default_factory=list)
    goods_wanted: list[GoodsWanted] = field(default_factory=list)
    goods_had: dict[int, Decimal] = field(default_factory=dict)

    @property
    def actual(self) -> Decimal:
        """Charged so far, less what offcuts gave back."""
        return self.stock + self.given_back + self.goods

    @property
    def expected(self) -> Decimal:
        """What it will be when all is cut and bought as planned."""
        return self.actual + self.to_come

    @property
    def to_come(self) -> Decimal:
        """Still to be cut, bought and issued."""
        return self.still_to_cut + self.to_buy + self.goods_to_come

    @property
    def difference(self) -> Decimal | None:
        """Expected less planned: above zero it costs more than planned."""
        return None if self.planned is None else self.expected - self.planned

    @property
    def saved(self) -> Decimal:
        """What it costs less than planned; nothing where it costs more."""
        return max(-(self.difference or NOTHING), NOTHING)


def job_cost(job: Job, shop: Shop | None = None) -> JobCost:
    """All a cost page shows of a job, in a fixed number of queries."""
    shop = shop or the_shop()
    charges = list(
        job.charges.select_related(
            "movement__piece__material", "movement__lot__material", "movement__by", "movement__undoes"
        ).order_by("pk")
    )
    lines = list(job.buy_lines.with_all_shown().order_by("pk"))
    outstanding = [line for line in lines if line.state == BuyLine.State.OPEN]
    goods_moved, sawn = _moved_for(job)
    wanted = list(job.goods_wanted.select_related("material"))
    to_come = goods_to_come(job, outstanding, wanted, goods_moved, shop)
    estimate = list(job.estimate_lines.select_related("material", "piece"))
    expecting = expected(job, lines, shop.keep_rate)
    by_sort = _by_sort(charges)
    return JobCost(
        planned=job.estimate,
        stock=by_sort[Charge.Sort.STOCK] + by_sort[Charge.Sort.CORRECTION],
        given_back=by_sort[Charge.Sort.OFFCUT],
        goods=by_sort[Charge.Sort.GOODS],
        still_to_cut=expecting.still_to_cut,
        to_buy=_to_buy(outstanding),
        materials=_by_material(charges, sawn),
        charges=charges,
        outstanding=outstanding,
        goods_to_come=sum(to_come.values(), NOTHING),
        differences=differences(job, Known(estimate, charges, sawn, expecting, outstanding, to_come)),
        estimate_lines=estimate,
        goods_wanted=wanted,
        goods_had=goods_moved,
    )


def _by_sort(charges: Iterable[Charge]) -> dict[str, Decimal]:
    sums = dict.fromkeys(Charge.Sort.values, NOTHING)
    for charge in charges:
        sums[charge.sort] += charge.amount
    return sums


def _to_buy(lines: Iterable[BuyLine]) -> Decimal:
    return sum((cost_of(line.still_to_come, line.price) for line in lines), NOTHING)


def _by_material(charges: Iterable[Charge], sawn: Iterable[Movement]) -> list[MaterialCost]:
    """A row for each material, by name. Pieces are counted by what was sawn: what carried nothing counts too."""
    rows: dict[int, MaterialCost] = {}
    for charge in charges:
        thing = charge.movement.piece or charge.movement.lot
        assert thing
        row = rows.setdefault(thing.material_id, MaterialCost(thing.material.name, thing.material_id))
        if charge.sort == Charge.Sort.GOODS:
            row.goods += charge.amount
        elif charge.sort == Charge.Sort.OFFCUT:
            row.given_back += charge.amount
        else:
            row.stock += charge.amount
    for movement in sawn:
        piece = movement.piece
        assert piece
        row = rows.setdefault(piece.material_id, MaterialCost(piece.material.name, piece.material_id))
        if movement.verb == Verb.LEAVE:
            row.offcuts_left += 1
        else:
            row.pieces += 1
            row.offcuts_used += piece.kind == Piece.Kind.OFFCUT
    return sorted(rows.values(), key=lambda row: row.name)


def _moved_for(job: Job) -> tuple[dict[int, Decimal], list[Movement]]:
    """How many of each goods a job has, net of what it gave back, by material; and what was cut up for it and left
    of that, where it was not undone. In one query."""
    is_sawn = Q(verb__in=[Verb.CUT, Verb.LEAVE], undone_by__isnull=True)
    moved = Movement.objects.filter(Q(lot__isnull=False) | is_sawn, job_number=job.number)
    had: dict[int, Decimal] = defaultdict(Decimal)
    sawn = []
    for movement in moved.select_related("piece__material", "lot"):
        if movement.lot:
            had[movement.lot.material_id] -= movement.quantity
        else:
            sawn.append(movement)
    return had, sawn
