"""Goods of the buy list come one by one or in packs: what is counted, and what it cost, is the same."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from inventory import cataloguing, goods
from inventory.models import GoodsLot, ReceiptLine
from jobs import buying
from jobs.models import BuyLine
from shared.models import Shop
from tests.factories import make_job, make_material, make_person, make_supplier

pytestmark = pytest.mark.django_db
HEAD = {"supplier": "Ironmonger", "number": "77", "date": "2026-11-20"}


@pytest.fixture
def desk(client):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(make_person())
    return client


def receive(desk, line, **typed):
    sent = {f"{name}_{line.pk}": text for name, text in typed.items()}
    return desk.post(reverse("buying-receive"), {**HEAD, "line": line.pk, **sent})


@pytest.mark.parametrize(
    ("unit", "wanted", "typed", "came", "cost"),
    [
        ("each", 100, {"count": "2", "pack_name": "box of 50", "price": "8.00"}, "100", "16.00"),
        ("each", 100, {"count": "100", "pack_name": "", "price": "0.16"}, "100", "16.00"),
        ("pair", 12, {"count": "1", "pack_name": "dozen", "price": "30"}, "6", "30.00"),
        ("litre", 2, {"count": "3", "pack_name": "quart", "price": "12.50"}, "2.838", "37.50"),
    ],
)
def test_goods_come_in_packs_as_on_the_invoice(desk, unit, wanted, typed, came, cost):
    of_it = make_material(kind="goods", unit=unit, is_counted_whole=unit != "litre")
    line = buying.want(job=make_job(), material=of_it, quantity=Decimal(wanted))
    assert receive(desk, line, **typed).status_code == 302
    lot, row = GoodsLot.objects.get(), ReceiptLine.objects.get()
    assert (lot.left, lot.value) == (Decimal(came), Decimal(cost))
    assert (row.pack_name, row.count) == (typed["pack_name"], Decimal(came))
    line.refresh_from_db()
    assert line.received == Decimal(came)
    assert line.state == (BuyLine.State.FILLED if Decimal(came) >= wanted else BuyLine.State.OPEN)


def test_the_packs_on_offer_stand_in_the_form(desk):
    screws = make_material(kind="goods")
    cataloguing.add_offer(
        material=screws,
        supplier=make_supplier(),
        price=Decimal("8.00"),
        seen_on=date(2026, 11, 1),
        pack=Decimal(50),
        pack_name="box of 50",
    )
    line = buying.want(job=make_job(), material=screws, quantity=Decimal(120))
    page = desk.get(reverse("buying-receive"), {"line": line.pk})
    form = page.context["form"]
    shown = {name: form[f"{name}_{line.pk}"].value() for name in ("count", "pack_name", "price")}
    assert shown == {"count": "3", "pack_name": "box of 50", "price": "8.00"}
    assert receive(desk, line, **shown).status_code == 302
    assert goods.in_stock(screws) == 150


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"pack_name": "bucket"}, "can’t be turned into each"),
        ({"pack_name": "quart"}, "can’t be turned into each"),
        ({"pack_name": "box of 0"}, "can’t be turned into each"),
        ({"count": "0"}, "Write how many came, above zero"),
        ({"price": "-8"}, "Price a each, or a pack"),
    ],
)
def test_what_is_no_pack_is_asked_again_and_nothing_comes(desk, typed, sentence):
    line = buying.want(job=make_job(), material=make_material(kind="goods"), quantity=Decimal(100))
    asked = receive(desk, line, **{"count": "2", "pack_name": "box of 50", "price": "8", **typed})
    assert asked.status_code == 422
    assert sentence.replace("’", "&#x27;") in asked.content.decode()
    assert not GoodsLot.objects.exists()


def test_the_same_delivery_twice_is_refused_and_counted_once(desk):
    line = buying.want(job=make_job(), material=make_material(kind="goods"), quantity=Decimal(100))
    typed = {"count": "1", "pack_name": "box of 50", "price": "8"}
    assert receive(desk, line, **typed).status_code == 302
    again = receive(desk, line, **typed)
    assert again.status_code == 422
    assert "receipt 77 is entered already" in again.content.decode()
    assert GoodsLot.objects.count() == 1
