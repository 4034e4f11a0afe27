"""For the bookkeeper: days that are closed, and the ledger as a journal of debits and credits.

A movement is booked on the day it is entered, so a correction to a closed period falls into the open one by itself;
the database refuses the rest (a trigger on the movements). A delivery is booked on its receipt's own date, unless
that was closed already. The journal has two lines a movement that moves value: what comes into stock is debited there
and credited to where it came from, what leaves it the other way round. A sale has two more, at its price: owed by
the buyer, and sold (IAS 2 par. 34: the carrying amount is an expense when the sale is recognised).
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Case, F, Q, QuerySet, Sum, When
from django.db.models.functions import Coalesce
from django.utils import timezone

from inventory.models import Account, AccountName, ClosedPeriod, Movement, Verb
from inventory.models.books import BUYERS, SALES, STOCK
from inventory.models.movements import MovementQuerySet
from shared.models import Person, Shop
from shared.refusal import Refused
from shared.shop import the_shop

NOTHING = Decimal("0.00")
SUMS = {
    "received": Q(account__in=[Account.SUPPLIER, Account.SHOP]),
    "charged": Q(account=Account.JOB),
    "written_off": Q(account=Account.WRITTEN_OFF),
    "sold": Q(account=Account.SOLD),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the journal; one of `debit` and `credit` is zero, and neither is below it."""

    date: Date
    account: str
    debit: Decimal
    credit: Decimal
    reference: str
    movement: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)


def closed_up_to() -> Date | None:
    """The last day that is closed, or None."""
    return ClosedPeriod.objects.values_list("last_day", flat=True).first()


@transaction.atomic
def close(*, last_day: Date, by: Person) -> ClosedPeriod:
    """Close all days up to and with this one. Refused for a day that is not over or is closed already."""
    Shop.objects.select_for_update().get(pk=the_shop().pk)
    if last_day >= timezone.localdate():
        raise Refused("A day is closed when it is over. Choose yesterday or an earlier day.")
    closed = closed_up_to()
    if closed and last_day <= closed:
        raise Refused(f"The books are closed up to {closed:%Y-%m-%d} already. Choose a later day.")
    ends_at = start_of(last_day + timedelta(days=1))
    return ClosedPeriod.objects.create(
        last_day=last_day, ends_at=ends_at, closed_by=by, **sums_up_to(last_day)
    )


def day_to_book(date: Date) -> Date:
    """On which day a delivery of this date is booked when it is entered now: on its own, or today where its own is
    closed or lies ahead."""
    Shop.objects.select_for_update().get(pk=the_shop().pk)  # nobody closes it meanwhile
    today, closed = timezone.localdate(), closed_up_to()
    return today if date > today or (closed and date <= closed) else date


#: A delivery's booking day; nothing for other movements, which are booked when they are entered.
_BOOKED_ON = Case(
    When(
        verb=Verb.RECEIVE,
        then=Coalesce(
            F("piece__receipt_line__receipt__booked_on"), F("lot__receipt_line__receipt__booked_on")
        ),
    )
)


def booked_in(movements: MovementQuerySet, first: Date | None, last: Date | None) -> MovementQuerySet:
    """Movements booked on these days of the shop's time zone, both included; None is open. No delivery is booked
    after it was entered."""
    found: Any = movements.annotate(booked_on=_BOOKED_ON)  # which no type knows
    if first:
        entered = Q(at__gte=start_of(first))
        found = found.filter(entered, Q(booked_on__isnull=True) | Q(booked_on__gte=first))
    if last:
        found = found.filter(Q(at__lt=start_of(last + timedelta(days=1))) | Q(booked_on__lte=last))
    return found


def sums_up_to(last_day: Date) -> dict[str, Decimal]:
    """What all movements booked up to and with a day received, charged, wrote off and sold."""
    found = booked_in(Movement.objects.all(), None, last_day).aggregate(
        **{name: Sum("value", filter=of_it, default=NOTHING) for name, of_it in SUMS.items()}
    )
    return {name: value if name == "received" else -value for name, value in found.items()}


def closed_periods_say_the_same() -> list[str]:
    """Sentences for closed periods whose movements come to something else now."""
    return [
        f"Closed up to {period.last_day:%Y-%m-%d} with {getattr(period, name)} {name.replace('_', ' ')}, "
        f"its movements say {value} now."
        for period in ClosedPeriod.objects.all()
        for name, value in sums_up_to(period.last_day).items()
        if value != getattr(period, name)
    ]


def start_of(day: Date) -> datetime:
    """The first moment of a day in the shop's time zone (the one that is in use)."""
    return timezone.make_aware(datetime.combine(day, time.min))


def account_names() -> dict[str, str]:
    """What the shop calls each side, by its sort; our own words where it has not said."""
    return {**dict(AccountName.SORTS), **dict(AccountName.objects.values_list("sort", "name"))}


@transaction.atomic
def name_accounts(names: dict[str, str]) -> None:
    """Keep what the shop calls its accounts; an empty name goes back to our own words."""
    for sort, name in names.items():
        if name.strip():
            AccountName.objects.update_or_create(sort=sort, defaults={"name": name.strip()})
        else:
            AccountName.objects.filter(sort=sort).delete()


def journal(first: Date | None, last: Date | None) -> Iterator[Entry]:
    """The lines of all movements booked on these days that moved value or brought a price, in the order they were
    entered. Debits equal credits."""
    return entries(lines(first, last).order_by("id").iterator(chunk_size=5_000))


def lines(first: Date | None, last: Date | None, account: str = "") -> QuerySet[Movement, dict[str, Any]]:
    """The movements behind the journal's lines, or behind those of one sort of account."""
    is_worth, is_priced = ~Q(value=0), Q(price__gt=0) | Q(undoes__price__gt=0)
    wanted = {"": is_worth | is_priced, STOCK: is_worth, BUYERS: is_priced, SALES: is_priced}
    moved = Movement.objects.filter(wanted.get(account, is_worth & Q(account=account)))
    found: Any = booked_in(moved, first, last)  # with the day, which no type knows
    return found.values(
        "pk",
        "at",
        "booked_on",
        "account",
        "value",
        "price",
        "undoes__price",
        "job_number",
        "piece__code",
        "piece__receipt_line__receipt__number",
        "lot__receipt_line__receipt__number",
        "lot__material",
    )


def entries(rows: Iterable[Mapping[str, Any]], account: str = "") -> Iterator[Entry]:
    """The journal's lines of such movements; of one sort of account where it is given."""
    names, zone = account_names(), timezone.get_current_timezone()
    for row in rows:
        day = row["booked_on"] or row["at"].astimezone(zone).date()
        for debited, credited, amount in _sides(row):
            for sort, debit, credit in ((debited, amount, NOTHING), (credited, NOTHING, amount)):
                if account in ("", sort):
                    yield Entry(day, names[sort], debit, credit, _reference(row), row)


def _sides(row: Mapping[str, Any]) -> Iterator[tuple[str, str, Decimal]]:
    """(debited, credited, amount) of one movement: what it moves into stock or out of it, and what it was sold
    for; an undone sale the other way round."""
    if value := row["value"]:
        yield (STOCK, row["account"], value) if value > 0 else (row["account"], STOCK, -value)
    if row["price"]:
        yield BUYERS, SALES, row["price"]
    if row["undoes__price"]:
        yield SALES, BUYERS, row["undoes__price"]


def _reference(row: Mapping[str, Any]) -> str:
    receipt = row["piece__receipt_line__receipt__number"] or row["lot__receipt_line__receipt__number"]
    number = receipt if row["account"] == Account.SUPPLIER else row["job_number"]
    return " ".join(part for part in (number or "", row["piece__code"] or "", f"#{row['pk']}") if part)


def in_days(movements: MovementQuerySet, first: Date | None, last: Date | None) -> MovementQuerySet:
    """Movements entered on these days of the shop's time zone, both included; None is open."""
    if first:
        movements = movements.filter(at__gte=start_of(first))
    if last:
        movements = movements.filter(at__lt=start_of(last + timedelta(days=1)))
    return movements


@dataclass(frozen=True, slots=True)
class Balance:
    """What one sort of account was debited and credited."""

    sort: str
    name: str
    debit: Decimal
    credit: Decimal


def balances(first: Date | None, last: Date | None) -> list[Balance]:
    """Each account of these days: what the journal adds up to, in two queries."""
    sums = {sort: [NOTHING, NOTHING] for sort, _ in AccountName.SORTS}
    rows = (
        booked_in(Movement.objects.all(), first, last)
        .order_by()
        .values("account")
        .annotate(
            into=Sum("value", filter=Q(value__gt=0), default=NOTHING),
            out=Sum("value", filter=Q(value__lt=0), default=NOTHING),
            brought=Sum("price", default=NOTHING),
            returned=Sum("undoes__price", default=NOTHING),
        )
    )
    for row in rows:
        for debited, credited, amount in (
            (STOCK, row["account"], row["into"]),
            (row["account"], STOCK, -row["out"]),
            (BUYERS, SALES, row["brought"]),
            (SALES, BUYERS, row["returned"]),
        ):
            if amount:
                sums[debited][0] += amount
                sums[credited][1] += amount
    names = account_names()
    return [Balance(sort, names[sort], debit, credit) for sort, (debit, credit) in sums.items()]
