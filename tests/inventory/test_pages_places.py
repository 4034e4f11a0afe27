"""Pages of places and suppliers."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import handling
from inventory.models import LabelToPrint, Place, Supplier
from tests.factories import make_material, make_offcut, make_place, make_sheet, make_supplier
from tests.inventory.forms_on_pages import fields_on

pytestmark = pytest.mark.django_db


def queries_of(client, address):
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return len(asked)


def test_a_place_is_added_at_the_end_of_the_walk(at_desk):
    wall = make_place("north wall")
    answer = at_desk.post(reverse("place-new"), {"name": "bay A1", "within": wall.pk, "walk_order": ""})
    made = Place.objects.get(name="bay A1")
    assert answer.url == reverse("places")
    assert (made.within, made.walk_order) == (wall, wall.walk_order + 1)
    assert LabelToPrint.objects.get().place == made


def test_the_same_place_sent_twice_is_one(at_desk):
    for _ in range(2):
        answer = at_desk.post(reverse("place-new"), {"name": "bay A1"})
    assert answer.status_code == 422
    assert "a place with this name already" in answer.content.decode()
    assert Place.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": ""}, "required"),
        ({"walk_order": "first"}, "whole number"),
        ({"within": "99999"}, "valid choice"),
    ],
)
def test_a_place_that_will_not_do_comes_back_as_typed(at_desk, changes, sentence):
    answer = at_desk.post(reverse("place-new"), {"name": "bay A1", "walk_order": "7", **changes})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    held = fields_on(answer)
    assert held["name"] == changes.get("name", "bay A1")
    assert held["walk_order"] == changes.get("walk_order", "7")
    assert not Place.objects.exists()


def test_a_place_is_renamed_and_keeps_its_order_where_none_is_typed(at_desk):
    bay, other = make_place("bay A1"), make_place("bay A2")
    at_desk.post(reverse("place", args=[bay.pk]), {"name": "bay B1", "within": other.pk, "walk_order": ""})
    changed = Place.objects.get(pk=bay.pk)
    assert (changed.name, changed.within, changed.walk_order) == ("bay B1", other, bay.walk_order)
    assert Place.objects.get(pk=other.pk).name == "bay A2"


def test_a_place_within_itself_is_refused_in_the_form(at_desk):
    wall, bay = make_place("wall"), make_place("bay")
    at_desk.post(reverse("place", args=[bay.pk]), {"name": "bay", "within": wall.pk})
    answer = at_desk.post(reverse("place", args=[wall.pk]), {"name": "the wall", "within": bay.pk})
    assert answer.status_code == 422
    assert fields_on(answer)["name"] == "the wall"
    assert Place.objects.get(pk=wall.pk).within is None


def test_places_come_along_the_walk_with_what_is_there(at_rack, bench):
    far, near = make_place("far"), make_place("near")
    Place.objects.filter(pk=far.pk).update(walk_order=99_999)
    for place in (far, near, near):
        make_offcut(by=bench, place=place)
    handling.pull(piece=make_offcut(by=bench, place=near), by=bench)
    rows = at_rack.get(reverse("places")).context["places"]
    assert [(row.name, row.on_rack) for row in rows] == [("near", 2), ("far", 1)]


def test_labels_of_all_places_are_a_tap_away(at_rack):
    places = [make_place() for _ in range(3)]
    address = at_rack.get(reverse("places")).context["labels_url"]
    assert [face.code for face in at_rack.get(address).context["faces"]] == [place.code for place in places]


def test_a_longer_list_of_places_asks_no_more_often(at_rack, bench):
    def build(count):
        for _ in range(count):
            make_offcut(by=bench, place=make_place())

    build(3)
    at_three = queries_of(at_rack, reverse("places"))
    build(27)
    assert queries_of(at_rack, reverse("places")) == at_three < 10


# ---- suppliers --------------------------------------------------------------------------------------------


def test_a_supplier_is_added_once(at_desk):
    form = {"name": "Marsh Hardwoods", "reach": "555-0142", "note": "Tuesdays"}
    first, second = (at_desk.post(reverse("supplier-new"), form) for _ in range(2))
    made = Supplier.objects.get()
    assert first.url == reverse("supplier", args=[made.pk])
    assert (made.name, made.reach, made.note) == ("Marsh Hardwoods", "555-0142", "Tuesdays")
    assert second.status_code == 422
    assert fields_on(second)["reach"] == "555-0142"


def test_a_supplier_is_changed_alone(at_desk):
    yard, other = make_supplier("Marsh"), make_supplier("Northside")
    at_desk.post(reverse("supplier", args=[yard.pk]), {"name": "Marsh Hardwoods", "reach": "", "note": ""})
    assert Supplier.objects.get(pk=yard.pk).name == "Marsh Hardwoods"
    taken = at_desk.post(reverse("supplier", args=[yard.pk]), {"name": "Northside"})
    assert taken.status_code == 422
    assert fields_on(taken)["name"] == "Northside"
    assert Supplier.objects.get(pk=other.pk).name == "Northside"


def test_a_suppliers_page_shows_prices_and_deliveries(at_desk, buyer):
    yard = make_supplier("Marsh")
    ash = make_material("ash 5/4", "lumber")
    ash.offers.create(supplier=yard, price=Decimal("6.80"), per="board foot", seen_on="2026-11-03")
    sheet = make_sheet(by=buyer, supplier=yard)
    page = at_desk.get(reverse("supplier", args=[yard.pk])).content.decode()
    assert "$6.80" in page
    assert reverse("receipt", args=[sheet.receipt_line.receipt_id]) in page


def test_suppliers_come_by_name(at_desk):
    for name in ("Tilbury", "Marsh", "Northside"):
        make_supplier(name)
    rows = at_desk.get(reverse("suppliers")).context["suppliers"]
    assert [row.name for row in rows] == ["Marsh", "Northside", "Tilbury"]


def test_a_longer_list_of_suppliers_asks_no_more_often(at_desk, buyer):
    def know(count):
        for _ in range(count):
            make_sheet(by=buyer, supplier=make_supplier())

    know(3)
    at_three = queries_of(at_desk, reverse("suppliers"))
    know(27)
    assert queries_of(at_desk, reverse("suppliers")) == at_three < 10


def test_a_supplier_who_delivers_often_asks_no_more_often(at_desk, buyer):
    yard = make_supplier()
    for _ in range(3):
        make_sheet(by=buyer, supplier=yard)
    address = reverse("supplier", args=[yard.pk])
    at_three = queries_of(at_desk, address)
    for _ in range(12):
        make_sheet(by=buyer, supplier=yard)
    assert queries_of(at_desk, address) == at_three < 11
