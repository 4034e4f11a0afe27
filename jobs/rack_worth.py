"""What the stock carries, by age, and what nobody has touched for long."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import (
    Case,
    CharField,
    Count,
    DateTimeField,
    Exists,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.utils import timezone

from inventory.books import start_of
from inventory.models import GoodsLot, Material, Movement, Piece
from inventory.models.movements import PROMISES
from shared.measure import format_size
from shared.models import Shop

NOTHING = Decimal("0.00")
#: (name, its words, days from, days to): ages of pieces, the last without an end.
AGES: list[tuple[str, str, int, int | None]] = [
    ("month", "up to a month", 0, 31),
    ("quarter", "1 to 3 months", 31, 92),
    ("half", "3 to 6 months", 92, 183),
    ("year", "6 to 12 months", 183, 366),
    ("older", "over a year", 366, None),
]


@dataclass(frozen=True, slots=True)
class Aged:
    """Pieces of one age: how many of each kind, and what they carry."""

    name: str
    words: str
    sheets: int
    offcuts: int
    boards: int
    value: Decimal


@dataclass(frozen=True, slots=True)
class Rack:
    """Pieces by age, and goods."""

    ages: list[Aged]
    goods: Decimal

    @property
    def pieces(self) -> Decimal:
        return sum((row.value for row in self.ages), NOTHING)

    @property
    def total(self) -> Decimal:
        return self.pieces + self.goods


def of_age(name: str) -> Q:
    """Pieces made or received so long ago; all of them for a name that is no age."""
    today = timezone.localdate()
    for known, _, youngest, oldest in AGES:
        if known == name:
            young = Q(made_at__lt=start_of(today - timedelta(days=youngest - 1)))
            if oldest is None:
                return young
            return young & Q(made_at__gte=start_of(today - timedelta(days=oldest - 1)))
    return Q()


def by_age() -> Rack:
    """What is in the shop, in two queries."""
    age = Case(*(When(of_age(name), then=Value(name)) for name, *_ in AGES), output_field=CharField())
    rows = (
        Piece.objects.in_shop()
        .order_by()
        .values("kind", age=age)
        .annotate(n=Count("pk"), worth=Sum("value", default=NOTHING))
    )
    counts: dict[tuple[str, str], int] = defaultdict(int)
    worths: dict[str, Decimal] = defaultdict(lambda: NOTHING)
    for row in rows:
        counts[row["age"], row["kind"]] += row["n"]
        worths[row["age"]] += row["worth"]
    ages = [
        Aged(
            name,
            words,
            sheets=counts[name, Piece.Kind.SHEET],
            offcuts=counts[name, Piece.Kind.OFFCUT],
            boards=counts[name, Piece.Kind.BOARD],
            value=worths[name],
        )
        for name, words, *_ in AGES
    ]
    return Rack(ages, GoodsLot.objects.aggregate(n=Sum("value", default=NOTHING))["n"])


def carried() -> Decimal:
    """What all stock carries, in one query: what its movements added and took."""
    return Movement.objects.aggregate(n=Sum("value", default=NOTHING))["n"]


def pieces_of_age(name: str) -> QuerySet[Piece]:
    """What is in the shop and of this age, dearest first."""
    found = Piece.objects.in_shop().filter(of_age(name))
    return found.select_related("material", "place").order_by("-value", "made_at", "pk")


def untouched_since(day: date) -> QuerySet[Piece]:
    """Pieces in the shop that nothing happened to from this day on, dearest first, with `touched` on each.

    A promise to a job is not a touch: it moves nothing.
    """
    moved = Movement.objects.filter(piece=OuterRef("pk")).exclude(verb__in=PROMISES)
    last = moved.order_by("-at").values("at")[:1]
    return (
        Piece.objects.in_shop()
        .filter(made_at__lt=start_of(day))
        .filter(~Exists(moved.filter(at__gte=start_of(day))))
        .annotate(touched=Subquery(last, output_field=DateTimeField()))
        .select_related("material", "place")
        .order_by("-value", "made_at", "pk")
    )


def goods() -> list[dict[str, Any]]:
    """Goods on the shelf, dearest first: material, how many, what they carry."""
    rows: Any = (
        GoodsLot.objects.filter(left__gt=0)
        .order_by()
        .values("material", "material__name", "material__unit")
        .annotate(n=Sum("left"), worth=Sum("value"))
    )
    return sorted(rows, key=lambda row: (-row["worth"], row["material__name"]))


def goods_untouched_since(day: date) -> list[dict[str, Any]]:
    """Those of which nothing came or went from this day on, with `touched`, since when."""
    last = dict(
        Movement.objects.filter(lot__isnull=False)
        .order_by()
        .values("lot__material")
        .annotate(at=Max("at"))
        .values_list("lot__material", "at")
    )
    found = (row | {"touched": last[row["material"]]} for row in goods())
    return [row for row in found if row["touched"] < start_of(day)]


def movements_of_goods(material: Material) -> QuerySet[Movement]:
    """All that came and went of some goods, latest first; together it is what they carry."""
    moved = Movement.objects.filter(lot__material=material)
    return moved.select_related("by", "undoes", "lot__receipt_line__receipt").order_by("-pk")


def months_ago(months: int) -> date:
    """The day so many months before today, of 30.4 days each."""
    return timezone.localdate() - timedelta(days=round(months * 30.4375))


def as_table(pieces: QuerySet[Piece], shop: Shop) -> list[list[Any]]:
    """Pieces with their age and value, for a file."""
    now = timezone.now()
    rows: list[list[Any]] = [
        [
            piece.code,
            piece.get_kind_display(),
            piece.material.name,
            format_size(piece.length, piece.width, shop.unit),
            piece.place.name if piece.place else "",
            _day(piece.made_at),
            (now - piece.made_at).days,
            piece.value,
        ]
        for piece in pieces.iterator(chunk_size=2_000)
    ]
    header = ["Piece", "Kind", "Material", "Size", "Place", "Since", "Days", "Value"]
    return [header, *rows, ["All", *[""] * 6, sum((row[-1] for row in rows), NOTHING)]]


def ages_as_table(rack: Rack) -> list[list[Any]]:
    """What is in the shop by age, for a file."""
    rows = [[row.words, row.sheets, row.offcuts, row.boards, row.value] for row in rack.ages]
    header = ["In the shop for", "Sheets", "Offcuts", "Boards", "Value"]
    return [header, *rows, ["All pieces", "", "", "", rack.pieces]]


def goods_as_table(rows: Iterable[dict[str, Any]]) -> list[list[Any]]:
    """Goods on the shelf, for a file."""
    table = [[row["material__name"], row["n"], row["material__unit"], row["worth"]] for row in rows]
    total = sum((row[-1] for row in table), NOTHING)
    return [["Goods", "Left", "Unit", "Value"], *table, ["All", "", "", total]]


def movements_as_table(moved: Iterable[Movement]) -> list[list[Any]]:
    """What came and went of some goods, for a file."""
    rows: list[list[Any]] = [
        [
            _day(one.at),
            one.get_verb_display(),
            one.job_number,
            one.by.shown_name,
            one.quantity,
            one.value,
        ]
        for one in moved
    ]
    total = [sum((row[column] for row in rows), NOTHING) for column in (4, 5)]
    return [["Date", "What", "For", "By", "How many", "Value"], *rows, ["All", "", "", "", *total]]


def dead_as_table(day: date, shop: Shop) -> list[list[Any]]:
    """Goods and pieces that nothing happened to from a day on, for a file."""
    rows: list[list[Any]] = [
        [row["material__name"], "goods", row["material__unit"], "", _day(row["touched"]), row["worth"]]
        for row in goods_untouched_since(day)
    ]
    rows += [
        [
            piece.code,
            piece.material.name,
            format_size(piece.length, piece.width, shop.unit),
            piece.place.name if piece.place else "",
            _day(piece.touched),  # type: ignore[attr-defined]
            piece.value,
        ]
        for piece in untouched_since(day).iterator(chunk_size=2_000)
    ]
    header = ["What", "Material", "Size", "Where", "Last touched", "Value"]
    return [header, *rows, ["All", "", "", "", "", sum((row[-1] for row in rows), NOTHING)]]


def _day(moment: datetime) -> date:
    return timezone.localtime(moment).date()
