"""Who may open which page of stock, and how."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories import make_material, make_offcut, make_place, make_sheet, make_supplier

pytestmark = pytest.mark.django_db

FOR_ALL = ["stock", "put-in", "materials", "material", "places", "labels", "labels-test-page"]
FOR_BUYERS = ["receive", "receipts", "receipt", "material-new", "material-edit", "place-new", "place"]
FOR_BUYERS += ["suppliers", "supplier-new", "supplier"]
SENT_BY_ALL = ["stock-chosen", "labels-printed"]
SENT_BY_BUYERS = ["offer-new", "offer-end", "name-new", "name-remove", "goods-put-in"]
ONLY_READ = ["stock", "materials", "material", "places", "receipts", "receipt", "suppliers", "labels"]


@pytest.fixture
def addresses(buyer):
    """Every page by its name, of things that are there."""
    sheet = make_sheet(by=buyer, material=make_material())
    make_offcut(by=buyer)
    goods = make_material(kind="goods")
    pk_of = {"material": sheet.material_id, "place": make_place().pk, "supplier": make_supplier().pk}
    args = {
        "receipt": [sheet.receipt_line.receipt_id],
        "material": [pk_of["material"]],
        "material-edit": [pk_of["material"]],
        "place": [pk_of["place"]],
        "supplier": [pk_of["supplier"]],
        "offer-new": [pk_of["material"]],
        "offer-end": [pk_of["material"], 1],
        "name-new": [pk_of["material"]],
        "name-remove": [pk_of["material"], 1],
        "goods-put-in": [goods.pk],
    }
    names = FOR_ALL + FOR_BUYERS + SENT_BY_ALL + SENT_BY_BUYERS
    return {name: reverse(name, args=args.get(name, [])) for name in names}


@pytest.mark.parametrize("name", FOR_ALL + FOR_BUYERS)
def test_who_is_not_signed_in_is_sent_to_sign_in(addresses, name):
    answer = Client().get(addresses[name])
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", SENT_BY_ALL + SENT_BY_BUYERS + FOR_BUYERS)
def test_nothing_is_changed_by_who_is_not_signed_in(addresses, name):
    answer = Client().post(addresses[name], {"name": "x"})
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", FOR_ALL)
def test_the_bench_may_open_what_has_no_prices(addresses, at_rack, name):
    assert at_rack.get(addresses[name]).status_code == 200


@pytest.mark.parametrize("name", FOR_BUYERS)
def test_what_has_prices_is_for_the_buyer(addresses, at_rack, at_desk, name):
    assert at_rack.get(addresses[name]).status_code == 403
    assert at_desk.get(addresses[name]).status_code == 200


@pytest.mark.parametrize("name", SENT_BY_BUYERS)
def test_what_the_shop_keeps_is_changed_by_the_buyer(addresses, at_rack, name):
    assert at_rack.post(addresses[name], {"name": "x"}).status_code == 403


@pytest.mark.parametrize("name", SENT_BY_ALL + SENT_BY_BUYERS)
def test_opening_an_address_changes_nothing(addresses, at_desk, name):
    assert at_desk.get(addresses[name]).status_code == 405


@pytest.mark.parametrize("name", ONLY_READ)
def test_a_page_that_is_only_read_takes_nothing(addresses, at_desk, name):
    assert at_desk.post(addresses[name], {}).status_code == 405


@pytest.mark.parametrize("name", ["material", "material-edit", "place", "supplier", "receipt"])
def test_what_is_not_there_is_not_found(at_desk, name):
    assert at_desk.get(reverse(name, args=[987_654])).status_code == 404


@pytest.mark.parametrize("name", [name for name in FOR_ALL if name != "labels-test-page"])
def test_no_price_is_on_a_page_of_the_bench(addresses, at_rack, at_desk, name):
    assert "$" not in at_rack.get(addresses[name]).content.decode()


def test_the_buyer_sees_what_a_piece_carries(addresses, at_desk):
    assert "$92.00" in at_desk.get(addresses["stock"]).content.decode()
