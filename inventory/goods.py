"""Goods go to a job and come back, are counted and corrected: by lot, at first in first out or at the average.

IAS 2 par. 25 lets goods that stand for one another be costed first in first out or at a weighted average, the
same way for all of them; par. 27 lets the average be taken anew at each receipt. The shop's setting
(`Shop.goods_costing`) says which; last in first out is not allowed and not offered. That whole lots are emptied
oldest first in either way, and that a job's goods come back at what they were charged, is the shop's own policy.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Sum

from inventory import ledger
from inventory.models import Account, GoodsLot, Material, Movement, Verb
from shared import money
from shared.models import Person, Shop
from shared.refusal import Refused
from shared.shop import the_shop

CENT = Decimal("0.01")
NO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Taken:
    """What a lot gives (above zero) or gets (below), and at what worth."""

    lot: GoodsLot
    quantity: Decimal
    worth: Decimal


def in_stock(material: Material) -> Decimal:
    """How many are left of it, in its unit."""
    return material.lots.aggregate(n=Sum("left"))["n"] or NO


def is_averaged(shop: Shop | None = None) -> bool:
    """Whether the shop costs goods at a weighted average."""
    return (shop or the_shop()).goods_costing == "average"


@transaction.atomic
def issue(
    *, material: Material, quantity: Decimal, by: Person, key: str = "", job_number: str = ""
) -> list[Movement]:
    """Take goods from stock for a job (or, without one, written off), oldest lot first.

    First in first out, each lot gives its share of what it carries, to the cent; the last of a lot takes all
    that is left. At the average, the quantity takes its share of what all lots carry, and the lots left carry
    the same average again. Returns a movement a lot; the first carries the key.
    """
    return _take(
        Verb.ISSUE,
        material=material,
        quantity=quantity,
        by=by,
        key=key,
        account=Account.JOB if job_number else Account.WRITTEN_OFF,
        job_number=job_number,
    )


def _take(
    verb: Verb, *, material: Material, quantity: Decimal, by: Person, key: str, **others: Any
) -> list[Movement]:
    if done := ledger.already(by, key):
        return [done, *done.others.order_by("id")]
    _refuse_odd_quantity(material, quantity)
    lots = list(GoodsLot.objects.select_for_update().filter(material=material).with_some_left())
    there = sum((lot.left for lot in lots), NO)
    if there < quantity:
        raise Refused(
            f"Only {_plain(there)} {material.unit} of {material} are in stock, {_plain(quantity)} were asked "
            "for. Receive more first, or correct the count."
        )
    taken = at_average(lots, quantity) if is_averaged() else first_in_first_out(lots, quantity)
    return _write(verb, taken, by=by, key=key, **others)


def first_in_first_out(lots: Sequence[GoodsLot], quantity: Decimal) -> list[Taken]:
    """What lots, oldest first, give of a quantity that they hold, each at what it carries."""
    taken = []
    for lot in lots:
        part = min(lot.left, quantity)
        if part <= 0:
            break
        worth = lot.value if part == lot.left else money.share(lot.value, part, lot.left)
        taken.append(Taken(lot, part, worth))
        quantity -= part
    return taken


def at_average(lots: Sequence[GoodsLot], quantity: Decimal) -> list[Taken]:
    """The same at the average of all lots. What is left is spread over the lots that are left, by count, so
    that a lot may give or get worth without giving any goods."""
    there, carried = sum((lot.left for lot in lots), NO), sum((lot.value for lot in lots), ledger.NOTHING)
    kept = carried - money.share(carried, quantity, there)
    parts = {one.lot.pk: one.quantity for one in first_in_first_out(lots, quantity)}
    left = [lot.left - parts.get(lot.pk, NO) for lot in lots]
    worths = money.spread(kept, left) if any(left) else [ledger.NOTHING] * len(lots)
    taken = [
        Taken(lot, parts.get(lot.pk, NO), lot.value - worth) for lot, worth in zip(lots, worths, strict=True)
    ]
    return [one for one in taken if one.quantity or one.worth]


def worth_of(lots: Sequence[GoodsLot], quantity: Decimal, shop: Shop) -> tuple[Decimal, Decimal]:
    """What lots, oldest first, would give of a quantity: how many, and at what worth. Changes nothing."""
    there = min(quantity, sum((lot.left for lot in lots), NO))
    if there <= 0:
        return NO, ledger.NOTHING
    taken = at_average(lots, there) if is_averaged(shop) else first_in_first_out(lots, there)
    return there, sum((one.worth for one in taken), ledger.NOTHING)


def _write(verb: Verb, taken: Sequence[Taken], *, by: Person, key: str, **others: Any) -> list[Movement]:
    """A movement a lot; the first carries the key and the others are part of it."""
    movements: list[Movement] = []
    for one in taken:
        movements.append(
            ledger.record_goods(
                verb=verb,
                by=by,
                lot=one.lot,
                quantity=-one.quantity,
                value=-one.worth,
                key="" if movements else key,
                part_of=movements[0] if movements else None,
                **others,
            )
        )
    return movements


@transaction.atomic
def put_back(
    *, material: Material, quantity: Decimal, by: Person, job_number: str, key: str = ""
) -> list[Movement]:
    """A job gives goods back: into the lots they came from, last out first, at what they were charged.

    At the average they come back at the average of what the job was charged for them; so also where an issue
    at the average left a lot's share odd.
    """
    if done := ledger.already(by, key):
        return [done, *done.others.order_by("id")]
    _refuse_odd_quantity(material, quantity)
    out = _still_with_the_job(material, job_number)
    there = sum((one.quantity for one in out), NO)
    if there < quantity:
        raise Refused(f"{job_number} has only {_plain(there)} {material.unit} of {material} to give back.")
    by_lot = not is_averaged() and all(one.quantity > 0 and one.worth >= 0 for one in out)
    back = _back_by_lot(out, quantity) if by_lot else _back_at_average(out, quantity, there)
    given = [Taken(one.lot, -one.quantity, -one.worth) for one in back]
    return _write(Verb.GOODS_BACK, given, by=by, key=key, account=Account.JOB, job_number=job_number)


def _back_by_lot(out: Sequence[Taken], quantity: Decimal) -> list[Taken]:
    back = []
    for one in out:
        part = min(one.quantity, quantity)
        if part <= 0:
            break
        worth = one.worth if part == one.quantity else money.share(one.worth, part, one.quantity)
        back.append(Taken(one.lot, part, worth))
        quantity -= part
    return back


def _back_at_average(out: Sequence[Taken], quantity: Decimal, there: Decimal) -> list[Taken]:
    worth = money.share(sum((one.worth for one in out), ledger.NOTHING), quantity, there)
    parts = []
    for one in out:
        part = min(one.quantity, quantity)
        if part > 0:
            parts.append((one.lot, part))
            quantity -= part
    worths = money.spread(worth, [part for _, part in parts])
    return [Taken(lot, part, share) for (lot, part), share in zip(parts, worths, strict=True)]


def _still_with_the_job(material: Material, job_number: str) -> list[Taken]:
    """What the job still has of each lot, latest lot first; the lots are kept from others."""
    lots = {
        lot.pk: lot for lot in GoodsLot.objects.select_for_update().filter(material=material).order_by("pk")
    }
    rows = (
        Movement.objects.filter(lot__material=material, job_number=job_number)
        .order_by()
        .values("lot")
        .annotate(quantity=Sum("quantity"), worth=Sum("value"))
        .order_by("-lot")
    )
    with_it = [Taken(lots[row["lot"]], -row["quantity"], -row["worth"]) for row in rows]
    return [one for one in with_it if one.quantity or one.worth]


@transaction.atomic
def count(*, material: Material, counted: Decimal, by: Person, key: str = "") -> list[Movement]:
    """Set the stock to what was counted on the shelf. What is missing is written off as an issue would cost it.

    What is too many was missed by counts before and comes back at what those wrote off for it; beyond that it
    comes in at nothing, for nobody paid for it twice. Returns the movements; none where the count was right.
    """
    if done := ledger.already(by, key):
        return [done, *done.others.order_by("id")]
    if counted:
        _refuse_odd_quantity(material, counted)
    Material.objects.select_for_update().get(pk=material.pk)
    more = counted - in_stock(material)
    if more < 0:
        return _take(
            Verb.LOSE, material=material, quantity=-more, by=by, key=key, account=Account.WRITTEN_OFF
        )
    return _find(material, more, by=by, key=key) if more else []


def _find(material: Material, quantity: Decimal, *, by: Person, key: str) -> list[Movement]:
    missed = Movement.objects.filter(lot__material=material, verb__in=[Verb.LOSE, Verb.FIND]).standing()
    lost = missed.aggregate(quantity=Sum("quantity", default=NO), worth=Sum("value", default=ledger.NOTHING))
    there, worth = -lost["quantity"], max(-lost["worth"], ledger.NOTHING)
    again = min(quantity, max(there, NO))
    value = money.share(worth, again, there) if again > 0 else ledger.NOTHING
    lot = GoodsLot.objects.create(material=material, received=quantity, left=0, cost=value, value=0)
    return _write(Verb.FIND, [Taken(lot, -quantity, -value)], by=by, key=key, account=Account.WRITTEN_OFF)


def _refuse_odd_quantity(material: Material, quantity: Decimal) -> None:
    if not material.is_goods:
        raise Refused(f"{material} is {material.get_kind_display()}, not goods.")
    if quantity <= 0:
        raise Refused("The quantity must be above zero.")
    if material.is_counted_whole and quantity != quantity.to_integral_value():
        raise Refused(f"{material} is counted whole. Write 1, 2 or 3.")


def _plain(quantity: Decimal) -> str:
    return f"{quantity.normalize():f}"
