"""What jobs were charged for material, in groups; every figure is a sum of charges that can be listed.

A charge is what its movement took from the rack for the job, so the totals here are the ledger's.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode

from django.db.models import Case, F, Max, Min, Model, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.books import in_days, start_of
from inventory.models import Account, Material, Movement, Offer, Piece, Species, Supplier, Verb
from jobs import charts
from jobs.models import Charge, Client, Job
from shared.measure import TICKS_PER_INCH, format_area
from shared.models import Shop

NOTHING = Decimal("0.00")
CENT = Decimal("0.01")
GROUPS = ("job", "client", "month", "material", "species", "supplier")
NONE = "none"  # in an address: those without a client, a species or a supplier


@dataclass(frozen=True, slots=True)
class Asked:
    """Which charges, and how they are grouped. Keys are primary keys as text, NONE, or empty for all; a job is
    named by its number, days are both included."""

    group: str = "job"
    first: date | None = None
    last: date | None = None
    job: str = ""
    client: str = ""
    material: str = ""
    species: str = ""
    supplier: str = ""
    sort: str = ""

    def as_query(self) -> str:
        """The part of an address that asks for the same charges."""
        named = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return urlencode({name: value for name, value in named.items() if value and name != "group"})

    def charges(self) -> QuerySet[Charge]:
        """The charges, in no order."""
        found = Charge.objects.order_by()
        if self.first:
            found = found.filter(at__gte=start_of(self.first))
        if self.last:
            found = found.filter(at__lt=start_of(self.last + timedelta(days=1)))
        if self.job:
            found = found.filter(job__number=self.job)
        if self.sort:
            found = found.filter(sort=self.sort)
        for name in ("client", "material", "species", "supplier"):
            if wanted := getattr(self, name):
                found = found.annotate(**{name: _KEYS[name]})
                found = found.filter(**({f"{name}__isnull": True} if wanted == NONE else {name: wanted}))
        return found


#: By what a movement is told apart, and by it a charge.
_MOVED: dict[str, Any] = {
    "material": Coalesce(F("piece__material_id"), F("lot__material_id")),
    "species": Coalesce(F("piece__material__species_id"), F("lot__material__species_id")),
    "supplier": Coalesce(
        F("piece__bought_on__receipt__supplier_id"), F("lot__receipt_line__receipt__supplier_id")
    ),
}
_KEYS: dict[str, Any] = {
    "client": F("job__client_id"),
    **{
        name: Coalesce(*(F(f"movement__{one.name}") for one in of_it.source_expressions))
        for name, of_it in _MOVED.items()
    },
}
_GROUPED_BY: dict[str, Any] = {
    # Added to nothing, or SQLite reads the charges job by job off an index, which takes it twice as long.
    "job": F("job_id") + 0,
    **_KEYS,
}
_NAMED_IN: dict[str, type[Model]] = {
    "client": Client,
    "material": Material,
    "species": Species,
    "supplier": Supplier,
}


@dataclass(frozen=True, slots=True)
class Row:
    """One group: what it was charged, and the charges behind it."""

    label: Any
    asked: Asked
    stock: Decimal
    given_back: Decimal
    goods: Decimal
    amount: Decimal
    bar: charts.Share = charts.NO_SHARE

    @property
    def query(self) -> str:
        """The part of an address that lists the charges behind it."""
        return self.asked.as_query()


@dataclass(frozen=True, slots=True)
class Spend:
    """Spend in groups, dearest first (months: the latest first), and what they add up to."""

    rows: list[Row]

    def total_of(self, column: str) -> Decimal:
        """What a column adds up to."""
        return sum((getattr(row, column) for row in self.rows), NOTHING)

    @property
    def stock(self) -> Decimal:
        return self.total_of("stock")

    @property
    def given_back(self) -> Decimal:
        return self.total_of("given_back")

    @property
    def goods(self) -> Decimal:
        return self.total_of("goods")

    @property
    def total(self) -> Decimal:
        return self.total_of("amount")


def spend(asked: Asked) -> Spend:
    """Material charged to jobs, grouped, in two queries. Raises KeyError for an unknown group.

    The database adds up by keys and by the bounds of months; what a group is called is looked up afterwards, as
    there are far fewer groups than charges.
    """
    months = _months_with_charges() if asked.group == "month" else []
    sums = list(_summed(asked, _month_of(months) if months else _GROUPED_BY[asked.group]))
    if months:
        called: dict[Any, tuple[Any, Any]] = {place: (day, day) for place, day in enumerate(months)}
        sums.sort(key=lambda row: -row["group_key"])
    else:
        called = _called(asked.group, [row["group_key"] for row in sums])
        sums.sort(key=lambda row: (-row["total"], row["group_key"] or 0))
    return Spend(_with_bars([_row(row, *called[row["group_key"]], asked) for row in sums]))


def _summed(asked: Asked, key: Any) -> QuerySet[Charge, dict[str, Any]]:
    charges: Any = asked.charges()  # its group column is made here, which no type knows
    return (
        charges.annotate(group_key=key)
        .values("group_key")
        .annotate(
            stock=Sum("amount", filter=Q(sort__in=["stock", "correction"]), default=NOTHING),
            given_back=Sum("amount", filter=Q(sort="offcut"), default=NOTHING),
            goods=Sum("amount", filter=Q(sort="goods"), default=NOTHING),
            total=Sum("amount", default=NOTHING),
        )
    )


def _called(group: str, keys: Iterable[Any]) -> dict[Any, tuple[Any, Any]]:
    """What groups are called and how an address names them, by their keys; none without one."""
    known = [key for key in keys if key is not None]
    if group == "job":
        jobs = Job.objects.filter(pk__in=known).values_list("pk", "number", "title")
        return {pk: (f"{number} {title}", number) for pk, number, title in jobs}
    named = _NAMED_IN[group]._default_manager.filter(pk__in=known).values_list("pk", "name")
    return {None: (None, None), **{pk: (name, pk) for pk, name in named}}


def _months_with_charges() -> list[date]:
    """The first day of each month from the first charge's to the one after the last's, so that there are two."""
    found = Charge.objects.aggregate(first=Min("at"), last=Max("at"))
    first, last = found["first"] or timezone.now(), found["last"] or timezone.now()
    months = [timezone.localtime(first).date().replace(day=1)]
    while start_of(months[-1]) <= last:
        months.append((months[-1] + timedelta(days=31)).replace(day=1))
    return months


def _month_of(months: Sequence[date], before: int = 0) -> Any:
    """The place in `months` of the one that a charge is of, found by halves: a date worked out for each charge
    (TruncMonth) takes SQLite ten times as long."""
    if len(months) == 1:
        return Value(before)
    half = len(months) // 2
    earlier, later = _month_of(months[:half], before), _month_of(months[half:], before + half)
    return Case(When(at__lt=start_of(months[half]), then=earlier), default=later)


def total_of(asked: Asked) -> Decimal:
    """What the charges asked for add up to."""
    return asked.charges().aggregate(n=Sum("amount", default=NOTHING))["n"]


#: The verbs whose movements are charged so; goods are charged whatever is done with them.
_CHARGED_AS = {"stock": Verb.CUT, "offcut": Verb.LEAVE}


def ledger_total(asked: Asked) -> Decimal:
    """What the movements themselves took from the rack for such jobs. Asked of the movements and not of their
    charges, so that a charge that is missing or wrong shows beside what is charged."""
    moved: Any = in_days(Movement.objects.filter(account=Account.JOB), asked.first, asked.last)
    if asked.job:
        moved = moved.filter(job_number=asked.job)
    if asked.client:
        theirs = Q(client=None) if asked.client == NONE else Q(client=asked.client)
        moved = moved.filter(job_number__in=Job.objects.filter(theirs).values("number"))
    if asked.sort == "goods":
        moved = moved.filter(lot__isnull=False)
    elif asked.sort:
        verb = _CHARGED_AS.get(asked.sort, "")
        moved = moved.filter(Q(verb=verb) | Q(undoes__verb=verb))
    for name in ("material", "species", "supplier"):
        if wanted := getattr(asked, name):
            moved = moved.annotate(**{name: _MOVED[name]})
            moved = moved.filter(**({f"{name}__isnull": True} if wanted == NONE else {name: wanted}))
    return -moved.aggregate(n=Sum("value", default=NOTHING))["n"]


def by_month(asked: Asked) -> Asked:
    """The same charges by month."""
    return replace(asked, group="month")


def _row(sums: Mapping[str, Any], label: Any, key: Any, asked: Asked) -> Row:
    return Row(
        label=label,
        asked=narrowed(asked, key),
        stock=sums["stock"],
        given_back=sums["given_back"],
        goods=sums["goods"],
        amount=sums["total"],
    )


def narrowed(asked: Asked, key: Any) -> Asked:
    """The charges of one group: what was asked, and its key."""
    if asked.group != "month":
        keyed: dict[str, Any] = {asked.group: NONE if key is None else str(key)}
        return replace(asked, **keyed)
    last = (key + timedelta(days=31)).replace(day=1) - timedelta(days=1)
    return replace(asked, first=max(key, asked.first or key), last=min(last, asked.last or last))


def _with_bars(rows: list[Row]) -> list[Row]:
    """Each row with the bar that draws its amount beside the others'."""
    drawn = charts.shares([row.amount for row in rows])
    return [replace(row, bar=bar) for row, bar in zip(rows, drawn, strict=True)]


def as_table(spent: Spend, group: str) -> list[list[Any]]:
    """The spend page's table for a file, with its header and its total."""
    header = [group.capitalize(), "Stock", "Goods", "Offcuts given back", "Cost"]
    rows = [[row.label or NONE, row.stock, row.goods, row.given_back, row.amount] for row in spent.rows]
    return [header, *rows, ["All", spent.stock, spent.goods, spent.given_back, spent.total]]


def behind(asked: Asked) -> QuerySet[Charge]:
    """The charges behind a figure with all that a list of them shows, latest first."""
    return (
        asked.charges()
        .select_related(
            "job",
            "movement__by",
            "movement__undoes",
            "movement__piece__material",
            "movement__lot__material",
        )
        .order_by("-at", "-pk")
    )


def behind_as_table(charges: Iterable[Charge]) -> list[list[Any]]:
    """The same for a file."""
    header = ["Date", "Job", "What", "Piece", "Material", "By", "Amount"]
    return [header, *(_behind_row(charge) for charge in charges)]


def _behind_row(charge: Charge) -> list[Any]:
    movement = charge.movement
    thing = movement.piece or movement.lot
    return [
        timezone.localtime(charge.at).date(),
        charge.job.number,
        f"{charge.get_sort_display()}, {movement.get_verb_display()}",
        movement.piece.code if movement.piece else "",
        thing.material.name if thing else "",
        movement.by.shown_name,
        charge.amount,
    ]


# ---- what offcuts saved -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Saved:
    """Cuts of offcuts in some days: what buying the same area would have cost, by material."""

    rows: list[tuple[str, int, int, Decimal]]

    @property
    def total(self) -> Decimal:
        return sum((row[3] for row in self.rows), NOTHING)


def cuts_of_offcuts(first: date | None, last: date | None) -> QuerySet[Movement]:
    """Cuts in these days that took parts from offcuts and stand."""
    cuts = Movement.objects.standing().filter(verb=Verb.CUT, piece__kind=Piece.Kind.OFFCUT, parts_area__gt=0)
    return in_days(cuts, first, last)


def saved(first: date | None, last: date | None) -> Saved:
    """What offcuts saved: the parts cut from them, at what buying their area costs today. Rows: material, how
    many offcuts, area in square ticks, amount."""
    pieces: dict[tuple[int, str], list[int]] = {}
    cuts = cuts_of_offcuts(first, last).order_by()
    for pk, name, area in cuts.values_list("piece__material_id", "piece__material__name", "parts_area"):
        sums = pieces.setdefault((pk, name), [0, 0])
        sums[0], sums[1] = sums[0] + 1, sums[1] + area
    prices = price_by_area(pk for pk, _ in pieces)
    rows = [
        (name, count, area, (prices.get(pk, NOTHING) * area).quantize(CENT))
        for (pk, name), (count, area) in pieces.items()
    ]
    return Saved(sorted(rows, key=lambda row: (-row[3], row[0])))


def price_by_area(material_pks: Iterable[int]) -> dict[int, Decimal]:
    """The cheapest price on offer today for a square tick of each material; lumber by its board feet. Left out
    where nobody offers it."""
    offers = Offer.objects.current().filter(material_id__in=list(material_pks)).select_related("material")
    prices: dict[int, Decimal] = {}
    for offer in offers.order_by("price"):
        if offer.per == Offer.Per.SHEET:
            price = offer.price / (offer.sheet_length * offer.sheet_width)
        else:
            thickness = max(Decimal(offer.material.sold_thickness) / TICKS_PER_INCH, Decimal(1))
            price = offer.price * thickness / (144 * Decimal(TICKS_PER_INCH) ** 2)
        prices[offer.material_id] = min(price, prices.get(offer.material_id, price))
    return prices


def cuts_as_table(cuts: Iterable[Movement], shop: Shop) -> list[list[Any]]:
    """The cuts of offcuts, for a file."""
    rows = [
        [
            timezone.localtime(cut.at).date(),
            cut.piece.code if cut.piece else "",
            cut.piece.material.name if cut.piece else "",
            cut.job_number,
            cut.by.shown_name,
            format_area(cut.parts_area, shop.unit),
        ]
        for cut in cuts
    ]
    return [["Date", "Piece", "Material", "For", "By", "Area of parts"], *rows]


def saved_as_table(found: Saved, shop: Shop) -> list[list[Any]]:
    """What offcuts saved, for a file."""
    rows = [[name, count, format_area(area, shop.unit), amount] for name, count, area, amount in found.rows]
    return [["Material", "Offcuts cut", "Area of parts", "Saved"], *rows, ["All", "", "", found.total]]
