"""For the bookkeeper: days that are closed, and the ledger as a journal of debits and credits.

A movement is dated when it is entered, so a correction to a closed period falls into the open one by itself; the
database refuses the rest (a trigger on the movements). The journal has two lines a movement that moves value:
what comes into stock is debited there and credited to where it came from, what leaves it the other way round.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from datetime import datetime, time, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Q, Sum
from django.utils import timezone

from inventory.models import Account, AccountName, ClosedPeriod, Movement
from inventory.models.books import STOCK
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
        last_day=last_day, ends_at=ends_at, closed_by=by, **sums_before(ends_at)
    )


def sums_before(moment: datetime) -> dict[str, Decimal]:
    """What all movements before a moment received, charged, wrote off and sold."""
    found = Movement.objects.filter(at__lt=moment).aggregate(
        **{name: Sum("value", filter=of_it, default=NOTHING) for name, of_it in SUMS.items()}
    )
    return {name: value if name == "received" else -value for name, value in found.items()}


def closed_periods_say_the_same() -> list[str]:
    """Sentences for closed periods whose movements come to something else now."""
    return [
        f"Closed up to {period.last_day:%Y-%m-%d} with {getattr(period, name)} {name.replace('_', ' ')}, "
        f"its movements say {value} now."
        for period in ClosedPeriod.objects.all()
        for name, value in sums_before(period.ends_at).items()
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
    """The lines of all movements in these days that moved value, oldest first. Debits equal credits."""
    names = account_names()
    zone = timezone.get_current_timezone()
    rows = (
        in_days(Movement.objects.exclude(value=0), first, last)
        .order_by("id")
        .values_list(
            "pk",
            "at",
            "account",
            "value",
            "job_number",
            "piece__code",
            "piece__receipt_line__receipt__number",
            "lot__receipt_line__receipt__number",
        )
    )
    for pk, at, account, value, job_number, code, receipt, goods_receipt in rows.iterator(chunk_size=5_000):
        day, amount = at.astimezone(zone).date(), abs(value)
        number = receipt or goods_receipt if account == Account.SUPPLIER else job_number
        reference = " ".join(part for part in (number or "", code or "", f"#{pk}") if part)
        into, out_of = names[STOCK], names[account]
        if value < 0:
            into, out_of = out_of, into
        yield Entry(day, into, amount, NOTHING, reference)
        yield Entry(day, out_of, NOTHING, amount, reference)


def in_days(movements: MovementQuerySet, first: Date | None, last: Date | None) -> MovementQuerySet:
    """Movements dated in these days of the shop's time zone, both included; None is open."""
    if first:
        movements = movements.filter(at__gte=start_of(first))
    if last:
        movements = movements.filter(at__lt=start_of(last + timedelta(days=1)))
    return movements


def balances(first: Date | None, last: Date | None) -> list[tuple[str, Decimal, Decimal]]:
    """(account, debit, credit) of these days: what the journal adds up to."""
    names, sums = account_names(), {sort: [NOTHING, NOTHING] for sort, _ in AccountName.SORTS}
    rows = (
        in_days(Movement.objects.exclude(value=0), first, last)
        .order_by()
        .values("account")
        .annotate(
            into=Sum("value", filter=Q(value__gt=0), default=NOTHING),
            out=Sum("value", filter=Q(value__lt=0), default=NOTHING),
        )
    )
    for row in rows:
        for sort, debit, credit in (
            (STOCK, row["into"], -row["out"]),
            (row["account"], -row["out"], row["into"]),
        ):
            sums[sort][0] += debit
            sums[sort][1] += credit
    return [(names[sort], debit, credit) for sort, (debit, credit) in sums.items()]
