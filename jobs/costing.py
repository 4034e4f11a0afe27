"""What jobs cost in material: planned against actual, and spend by job, client, month and material.

Every figure is a sum of charges, and each charge is a movement's: the ledger's totals and these agree.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce, TruncMonth

from inventory.models import Account, GoodsLot, Movement, Piece, Verb
from jobs.expecting import still_to_cut
from jobs.models import BuyLine, Charge, Job, Layout
from jobs.planning import cheapest_by_area

NOTHING = Decimal("0.00")
CENT = Decimal("0.01")


@dataclass(slots=True)
class MaterialCost:
    """One material of a job. Money in the shop's currency; how many pieces were cut and how many came back."""

    name: str
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

    @property
    def actual(self) -> Decimal:
        """Charged so far, less what offcuts gave back."""
        return self.stock + self.given_back + self.goods

    @property
    def expected(self) -> Decimal:
        """What it will be when all is cut and bought as planned."""
        return self.actual + self.still_to_cut + self.to_buy

    @property
    def difference(self) -> Decimal | None:
        """Expected less planned: above zero it costs more than planned."""
        return None if self.planned is None else self.expected - self.planned


def job_cost(job: Job) -> JobCost:
    """All a cost page shows of a job, in a fixed number of queries."""
    charges = list(
        job.charges.select_related(
            "movement__piece__material", "movement__lot__material", "movement__by", "movement__undoes"
        ).order_by("pk")
    )
    outstanding = list(job.buy_lines.open().with_all_shown())
    by_sort = _by_sort(charges)
    return JobCost(
        planned=job.estimate,
        stock=by_sort[Charge.Sort.STOCK] + by_sort[Charge.Sort.CORRECTION],
        given_back=by_sort[Charge.Sort.OFFCUT],
        goods=by_sort[Charge.Sort.GOODS],
        still_to_cut=still_to_cut(job),
        to_buy=_to_buy(outstanding),
        materials=_by_material(charges, _sawn_for(job)),
        charges=charges,
        outstanding=outstanding,
    )


def _by_sort(charges: Iterable[Charge]) -> dict[str, Decimal]:
    sums = dict.fromkeys(Charge.Sort.values, NOTHING)
    for charge in charges:
        sums[charge.sort] += charge.amount
    return sums


def _to_buy(lines: Iterable[BuyLine]) -> Decimal:
    return sum((line.guessed_cost for line in lines), NOTHING).quantize(CENT)


def _by_material(charges: Iterable[Charge], sawn: Iterable[Movement]) -> list[MaterialCost]:
    """A row for each material, by name. Pieces are counted by what was sawn: what carried nothing counts too."""
    rows: dict[int, MaterialCost] = {}
    for charge in charges:
        thing = charge.movement.piece or charge.movement.lot
        assert thing
        row = rows.setdefault(thing.material_id, MaterialCost(thing.material.name))
        if charge.sort == Charge.Sort.GOODS:
            row.goods += charge.amount
        elif charge.sort == Charge.Sort.OFFCUT:
            row.given_back += charge.amount
        else:
            row.stock += charge.amount
    for movement in sawn:
        piece = movement.piece
        assert piece
        row = rows.setdefault(piece.material_id, MaterialCost(piece.material.name))
        if movement.verb == Verb.LEAVE:
            row.offcuts_left += 1
        else:
            row.pieces += 1
            row.offcuts_used += piece.kind == Piece.Kind.OFFCUT
    return sorted(rows.values(), key=lambda row: row.name)


def _sawn_for(job: Job) -> QuerySet[Movement]:
    """What was cut up for a job and what was left of it, where it was not undone."""
    sawn = Movement.objects.standing().filter(job_number=job.number, verb__in=[Verb.CUT, Verb.LEAVE])
    return sawn.select_related("piece__material")


GROUPS = ("job", "client", "month", "material", "species")
_DEAREST_FIRST: list[str] = ["-amount", "label"]
_LATEST_FIRST: list[str] = ["-label"]


@dataclass(frozen=True, slots=True)
class Spend:
    """Spend in groups, and its total; `ledger_total` is what movements took from the rack for jobs, asked of the
    ledger alone: the two are the same as long as every movement is charged."""

    rows: list[dict[str, Any]]
    total: Decimal
    ledger_total: Decimal

    @property
    def largest(self) -> Decimal:
        """The dearest row, for drawing the others beside it."""
        return max((row["amount"] for row in self.rows), default=NOTHING)


def charges_between(first: date | None, last: date | None) -> QuerySet[Charge]:
    """Charges dated in these days, both included; None is open."""
    return Charge.objects.filter(_in_days("at", first, last))


def spend(
    *,
    group: str = "job",
    first: date | None = None,
    last: date | None = None,
    client_pk: int | None = None,
    material_pk: int | None = None,
) -> Spend:
    """Material charged to jobs, grouped, dearest first. Raises KeyError for an unknown group."""
    charges = charges_between(first, last)
    if client_pk:
        charges = charges.filter(job__client_id=client_pk)
    if material_pk:
        charges = charges.filter(
            Q(movement__piece__material_id=material_pk) | Q(movement__lot__material_id=material_pk)
        )
    rows = (
        charges.annotate(**_LABELS[group])
        .order_by()
        .values("label", "link")
        .annotate(
            stock=Sum("amount", filter=Q(sort__in=["stock", "correction"]), default=NOTHING),
            given_back=Sum("amount", filter=Q(sort="offcut"), default=NOTHING),
            goods=Sum("amount", filter=Q(sort="goods"), default=NOTHING),
            amount=Sum("amount"),
        )
        .order_by(*(_LATEST_FIRST if group == "month" else _DEAREST_FIRST))
    )
    total = charges.aggregate(n=Sum("amount", default=NOTHING))["n"]
    ledger_total = _taken_for_jobs(first, last, client_pk, material_pk)
    return Spend(list(rows), total, ledger_total)


def _taken_for_jobs(
    first: date | None, last: date | None, client_pk: int | None, material_pk: int | None
) -> Decimal:
    """What movements of these days took from the rack for jobs, less what they gave back."""
    taken = Movement.objects.filter(_in_days("at", first, last), account=Account.JOB)
    if client_pk:
        taken = taken.filter(job_number__in=Job.objects.filter(client_id=client_pk).values("number"))
    if material_pk:
        taken = taken.filter(Q(piece__material_id=material_pk) | Q(lot__material_id=material_pk))
    return -taken.aggregate(n=Sum("value", default=NOTHING))["n"]


def _material(path: str) -> Coalesce:
    return Coalesce(F(f"movement__piece__material__{path}"), F(f"movement__lot__material__{path}"))


_LABELS: dict[str, dict[str, Any]] = {
    "job": {"label": F("job__number"), "link": F("job__title")},
    "client": {"label": F("job__client__name"), "link": F("job__client_id")},
    "month": {"label": TruncMonth("at"), "link": TruncMonth("at")},
    "material": {"label": _material("name"), "link": _material("id")},
    "species": {"label": _material("species__name"), "link": _material("species_id")},
}


def saved_by_offcuts(first: date | None, last: date | None) -> Decimal:
    """What the plans said offcuts would save, over the layouts that were cut in these days: the price of the
    same area of the cheapest sheet on offer today."""
    cuts = (
        Layout.objects.filter(state=Layout.State.CUT, piece__kind=Piece.Kind.OFFCUT)
        .filter(_in_days("movement__at", first, last))
        .values("material")
        .annotate(area=Sum("movement__parts_area"))
    )
    prices = cheapest_by_area({row["material"] for row in cuts})
    return sum(((prices.get(row["material"], NOTHING) * row["area"]).quantize(CENT) for row in cuts), NOTHING)


def _in_days(path: str, first: date | None, last: date | None) -> Q:
    days = Q()
    if first:
        days &= Q(**{f"{path}__date__gte": first})
    if last:
        days &= Q(**{f"{path}__date__lte": last})
    return days


def value_on_rack() -> Decimal:
    """What all pieces and goods in the shop carry."""
    pieces = Piece.objects.in_shop().aggregate(n=Sum("value", default=NOTHING))["n"]
    return pieces + GoodsLot.objects.aggregate(n=Sum("value", default=NOTHING))["n"]


def as_table(spent: Spend, group: str) -> list[list[Any]]:
    """The spend page's table for a file, with its header and its total."""
    header = [group.capitalize(), "Stock", "Goods", "Offcuts given back", "Cost"]
    rows = [
        [row["label"], row["stock"], row["goods"], row["given_back"], row["amount"]] for row in spent.rows
    ]
    sums = [sum((row[column] for row in rows), NOTHING) for column in (1, 2, 3)]
    return [header, *rows, ["All", *sums, spent.total]]
