"""Goods go to a job and come back: by lot, first in first out."""

from decimal import Decimal

from django.db import transaction
from django.db.models import Sum

from inventory import ledger
from inventory.models import Account, GoodsLot, Material, Movement, Verb
from shared.models import Person
from shared.refusal import Refused

CENT = Decimal("0.01")


def in_stock(material: Material) -> Decimal:
    """How many are left of it, in its unit."""
    return material.lots.aggregate(n=Sum("left"))["n"] or Decimal(0)


@transaction.atomic
def issue(
    *, material: Material, quantity: Decimal, by: Person, key: str = "", job_number: str = ""
) -> list[Movement]:
    """Take goods from stock for a job (or, without one, written off), oldest lot first.

    Each lot gives its share of what it carries, to the cent; the last of a lot takes all that is left.
    Returns a movement a lot; the first carries the key.
    """
    if done := ledger.already(by, key):
        return [done, *done.others.order_by("id")]
    _refuse_odd_quantity(material, quantity)
    account = Account.JOB if job_number else Account.WRITTEN_OFF
    lots = list(GoodsLot.objects.select_for_update().filter(material=material).with_some_left())
    there = sum((lot.left for lot in lots), Decimal(0))
    if there < quantity:
        raise Refused(
            f"Only {_plain(there)} {material.unit} of {material} are in stock, {_plain(quantity)} were asked "
            "for. Receive more first, or correct the count."
        )
    movements: list[Movement] = []
    for lot in lots:
        taken = min(lot.left, quantity)
        if taken <= 0:
            break
        value = lot.value if taken == lot.left else (lot.value * taken / lot.left).quantize(CENT)
        movements.append(
            ledger.record_goods(
                verb=Verb.ISSUE,
                by=by,
                lot=lot,
                quantity=-taken,
                value=-value,
                account=account,
                job_number=job_number,
                key="" if movements else key,
                part_of=movements[0] if movements else None,
            )
        )
        quantity -= taken
    return movements


@transaction.atomic
def put_back(
    *, material: Material, quantity: Decimal, by: Person, job_number: str, key: str = ""
) -> list[Movement]:
    """A job gives goods back: into the lots they came from, last out first, at what they were charged."""
    if done := ledger.already(by, key):
        return [done, *done.others.order_by("id")]
    _refuse_odd_quantity(material, quantity)
    out = _still_with_the_job(material, job_number)
    there = sum((left for _, left, _ in out), Decimal(0))
    if there < quantity:
        raise Refused(f"{job_number} has only {_plain(there)} {material.unit} of {material} to give back.")
    movements: list[Movement] = []
    for lot, had, worth in out:
        taken = min(had, quantity)
        if taken <= 0:
            break
        value = worth if taken == had else (worth * taken / had).quantize(CENT)
        movements.append(
            ledger.record_goods(
                verb=Verb.GOODS_BACK,
                by=by,
                lot=lot,
                quantity=taken,
                value=value,
                account=Account.JOB,
                job_number=job_number,
                key="" if movements else key,
                part_of=movements[0] if movements else None,
            )
        )
        quantity -= taken
    return movements


def _still_with_the_job(material: Material, job_number: str) -> list[tuple[GoodsLot, Decimal, Decimal]]:
    """(lot, quantity, value) the job still has, latest lot first; the lots are kept from others."""
    lots = {
        lot.pk: lot for lot in GoodsLot.objects.select_for_update().filter(material=material).order_by("pk")
    }
    rows = (
        Movement.objects.filter(lot__material=material, job_number=job_number)
        .order_by()
        .values("lot")
        .annotate(quantity=Sum("quantity"), worth=Sum("value"))
        .filter(quantity__lt=0)
        .order_by("-lot")
    )
    return [(lots[row["lot"]], -row["quantity"], -row["worth"]) for row in rows]


def _refuse_odd_quantity(material: Material, quantity: Decimal) -> None:
    if not material.is_goods:
        raise Refused(f"{material} is {material.get_kind_display()}, not goods.")
    if quantity <= 0:
        raise Refused("The quantity must be above zero.")
    if material.is_counted_whole and quantity != quantity.to_integral_value():
        raise Refused(f"{material} is counted whole. Write 1, 2 or 3.")


def _plain(quantity: Decimal) -> str:
    return f"{quantity.normalize():f}"
