"""A shelf's label opens what can be done there: into a job, back, counted. No price is on it."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from inventory import cataloguing, goods, putting_in, receiving
from inventory.models import GoodsLot, Movement, ReceiptLine
from jobs import prices
from shared.models import Shop
from shared.shop import take_codes
from tests.factories import make_job, make_material, make_person, make_supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return make_person("bench")


@pytest.fixture
def bench(client, by):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(by)
    return client


@pytest.fixture
def screws(by):
    material = make_material("Screws", kind="goods", code=take_codes(1)[0])
    putting_in.put_in_goods(material=material, quantity=Decimal(200), value=Decimal("20.00"), by=by)
    return material


def send(bench, name, screws, **typed):
    return bench.post(reverse(name, args=[screws.pk]), {"key": "k1", **typed})


def test_a_scanned_shelf_opens_what_can_be_done_there(bench, screws):
    page = bench.get(f"/s/{screws.code}", follow=True)
    assert "200" in page.content.decode()
    assert "Into the job" in page.content.decode()
    assert "$" not in page.content.decode()


def test_boxes_go_into_a_job_by_the_unit_they_are_counted_in(bench, screws):
    job = make_job()
    for _ in range(2):  # sent twice, counted once
        send(bench, "shelf-move", screws, job=job.number, quantity="2", pack_name="box of 50")
    assert goods.in_stock(screws) == 100
    assert job.charges.get().amount == 10
    bench.post(
        reverse("shelf-move", args=[screws.pk]),
        {"job": job.number, "quantity": "1", "back": "1", "key": "k2"},
    )
    assert goods.in_stock(screws) == 101


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"quantity": "201"}, "Only 200 each of Screws are in stock"),
        ({"quantity": "0"}, "greater than or equal to"),
        ({"quantity": "1", "pack_name": "quart"}, "can&#x27;t be turned into each"),
        ({"quantity": "1", "back": "1"}, "has only 0 each of Screws to give back"),
        ({"quantity": "1", "job": ""}, "Choose the job."),
    ],
)
def test_what_can_not_be_done_is_shown_back_and_nothing_moves(bench, screws, typed, sentence):
    page = send(bench, "shelf-move", screws, **{"job": make_job().number, **typed})
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert Movement.objects.count() == 1


def test_a_shelf_is_counted(bench, screws):
    for _ in range(2):
        send(bench, "shelf-count", screws, counted="190")
    assert goods.in_stock(screws) == 190
    assert Movement.objects.filter(account="written off").get().value == -1
    assert send(bench, "shelf-count", screws, counted="few").status_code == 422


def test_a_shelf_is_for_who_is_signed_in_and_for_goods(client, screws):
    assert client.get(reverse("shelf", args=[screws.pk])).status_code == 302
    client.force_login(make_person("bench"))
    assert client.get(reverse("shelf", args=[make_material().pk])).status_code == 404
    assert client.get(reverse("shelf-move", args=[screws.pk])).status_code == 405


def test_a_pack_is_received_in_the_unit_it_is_counted_in(by):
    screws, oil = (
        make_material(kind="goods"),
        make_material(kind="goods", unit="litre", is_counted_whole=False),
    )
    receiving.receive(
        supplier=make_supplier(),
        number="1",
        date=date(2026, 11, 2),
        lines=[
            receiving.GoodsLine(screws, Decimal(3), Decimal("12.99"), Decimal(50), "box of 50"),
            receiving.GoodsLine(oil, Decimal(2), Decimal("31.00"), Decimal("0.946"), "quart"),
        ],
        by=by,
    )
    assert [(lot.left, lot.value) for lot in GoodsLot.objects.order_by("pk")] == [
        (150, Decimal("38.97")),
        (Decimal("1.892"), 62),
    ]
    assert [line.count for line in ReceiptLine.objects.order_by("pk")] == [150, Decimal("1.892")]


def test_packs_are_typed_from_the_invoice(client, screws):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(make_person("buyer"))
    sent = {"do": "enter", "new_supplier": "Ironmonger", "number": "7", "date": "2026-11-02", "key": "k"}
    for sort in ("sheets", "boards", "goods"):
        sent |= {f"{sort}-TOTAL_FORMS": "1" if sort == "goods" else "0", f"{sort}-INITIAL_FORMS": "0"}
    sent |= {"goods-0-material": screws.pk, "goods-0-quantity": "2", "goods-0-price": "$1,012.50"}
    wrong = client.post(reverse("receive"), {**sent, "goods-0-pack_name": "quart"})
    assert wrong.status_code == 422
    assert client.post(reverse("receive"), {**sent, "goods-0-pack_name": "box of 50"}).status_code == 302
    assert GoodsLot.objects.latest("pk").left == 100
    assert GoodsLot.objects.latest("pk").value == Decimal("2025.00")


def test_an_offer_by_the_box_is_priced_by_the_unit(by):
    screws = make_material(kind="goods")
    offer = cataloguing.add_offer(
        material=screws,
        supplier=make_supplier(),
        price=Decimal("12.50"),
        seen_on=date(2026, 11, 1),
        pack=Decimal(50),
        pack_name="box of 50",
    )
    assert offer.unit_price == Decimal("0.25")
    assert [one.each for one in prices.history(screws)] == [Decimal("0.25")]
