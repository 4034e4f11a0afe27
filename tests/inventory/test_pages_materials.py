"""Pages of materials, their offers and their names."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import cataloguing
from inventory.models import GoodsLot, Material, Species
from shared.measure import inches, mm
from tests.factories import make_material, make_offcut, make_supplier
from tests.inventory.forms_on_pages import fields_on

pytestmark = pytest.mark.django_db

SHEET = {
    "name": "white oak ply 3/4",
    "species": "",
    "core": "veneer core",
    "thickness_text": "3/4",
    "thickness": "23/32",
    "is_grained": "on",
    "density_kg_m3": "620",
    "formaldehyde_class": "TSCA VI",
    "note": "",
}


def add(client, kind="sheet", **changes):
    return client.post(f"{reverse('material-new')}?kind={kind}", {**SHEET, **changes})


def page_of(client, material):
    return client.get(reverse("material", args=[material.pk])).content.decode()


def queries_of(client, address):
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return len(asked)


# ---- adding and changing ----------------------------------------------------------------------------------


def test_a_sheet_is_added_with_all_that_is_said_of_it(at_desk):
    oak = Species.objects.get(name="Oak, white")
    answer = add(at_desk, species=oak.pk)
    made = Material.objects.get()
    assert answer.url == reverse("material", args=[made.pk])
    assert (made.kind, made.name, made.species, made.core) == (
        "sheet",
        "white oak ply 3/4",
        oak,
        "veneer core",
    )
    assert (made.thickness_text, made.thickness, made.is_grained) == ("3/4", inches("23/32"), True)
    assert (made.density_kg_m3, made.formaldehyde_class) == (Decimal("620.0"), "TSCA VI")


def test_goods_are_asked_for_their_unit_and_not_for_a_grain(at_desk):
    page = at_desk.get(f"{reverse('material-new')}?kind=goods").content.decode()
    assert 'name="unit"' in page
    assert 'name="is_grained"' not in page
    add(at_desk, "goods", name="butt hinge", unit="pair", reorder_point="6", is_counted_whole="on")
    made = Material.objects.get()
    assert (made.kind, made.unit, made.reorder_point, made.is_grained) == ("goods", "pair", 6, False)


def test_the_same_material_sent_twice_is_kept_once(at_desk):
    add(at_desk)
    answer = add(at_desk)
    assert answer.status_code == 422
    assert "this kind with this name already" in answer.content.decode()
    assert Material.objects.count() == 1


@pytest.mark.parametrize(
    ("kind", "changes", "sentence"),
    [
        ("sheet", {"name": ""}, "Name: This field is required."),
        ("sheet", {"thickness": "thin"}, "is not a length"),
        ("sheet", {"thickness": ""}, "Thickness as measured: This field is required."),
        ("sheet", {"density_kg_m3": "0"}, "greater than or equal to 1"),
        ("lumber", {"thickness_text": ""}, "Nominal thickness: This field is required."),
        ("goods", {"unit": ""}, "the unit they are counted in"),
    ],
)
def test_what_will_not_do_comes_back_as_typed(at_desk, kind, changes, sentence):
    answer = add(at_desk, kind, **{"note": "ask Tuesday", **changes})
    held = fields_on(answer)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert held["note"] == "ask Tuesday"
    assert all(held[name] == typed for name, typed in changes.items())
    assert not Material.objects.exists()


def test_saving_what_is_shown_changes_nothing(at_desk):
    birch = make_material("Baltic birch 18 mm", thickness_text="18 mm", thickness=mm(18), density_kg_m3=None)
    before = Material.objects.filter(pk=birch.pk).values().get()
    form = at_desk.get(reverse("material-edit", args=[birch.pk]))
    assert at_desk.post(reverse("material-edit", args=[birch.pk]), fields_on(form)).status_code == 302
    assert Material.objects.filter(pk=birch.pk).values().get() == before


def test_a_change_keeps_the_kind_whatever_is_sent(at_desk):
    oak, other = make_material("oak ply"), make_material("ash ply")
    address = reverse("material-edit", args=[oak.pk])
    at_desk.post(address, {**SHEET, "name": "white oak ply", "kind": "goods", "retired": "on"})
    oak = Material.objects.get(pk=oak.pk)
    assert (oak.name, oak.kind, oak.retired) == ("white oak ply", "sheet", True)
    assert Material.objects.get(pk=other.pk).name == "ash ply"


def test_a_change_to_a_name_that_is_taken_comes_back(at_desk):
    oak = make_material("oak ply")
    make_material("ash ply")
    answer = at_desk.post(reverse("material-edit", args=[oak.pk]), {**SHEET, "name": "ASH ply"})
    assert answer.status_code == 422
    assert fields_on(answer)["name"] == "ASH ply"
    assert Material.objects.get(pk=oak.pk).name == "oak ply"


# ---- offers -----------------------------------------------------------------------------------------------


def offered(**changes):
    form = {"length": "8 ft", "width": "48", "price": "96.40", "seen_on": "2026-11-03"}
    return {**form, "supplier": make_supplier().pk, **changes}


def test_a_price_seen_is_shown_before_the_one_it_replaced(at_desk):
    oak, form = make_material("oak ply"), offered(price="92")
    address = reverse("offer-new", args=[oak.pk])
    at_desk.post(address, form)
    answer = at_desk.post(address, {**form, "price": "96.40", "seen_on": "2026-11-09"})
    assert answer.url == reverse("material", args=[oak.pk])
    page = page_of(at_desk, oak)
    assert page.index("$96.40", page.index("Offers")) < page.index("$92.00", page.index("Offers"))
    assert "earlier price" in page
    assert oak.offers.current().get().length == inches(96)


def test_the_same_price_sent_twice_is_kept_once(at_desk):
    oak, form = make_material(), offered()
    for _ in range(2):
        at_desk.post(reverse("offer-new", args=[oak.pk]), form)
    assert oak.offers.count() == 1


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        ("length", "8 x 4", "is not a length"),
        ("width", "", "required"),
        ("price", "dear", "is not an amount"),
        ("supplier", "99999", "valid choice"),
    ],
)
def test_a_price_that_will_not_do_comes_back_as_typed(at_desk, name, typed, sentence):
    oak = make_material()
    answer = at_desk.post(reverse("offer-new", args=[oak.pk]), offered(**{name: typed}))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert fields_on(answer)["seen_on"] == "2026-11-03"
    assert not oak.offers.exists()


def test_lumber_is_offered_by_the_board_foot_without_a_size(at_desk):
    ash = make_material(kind="lumber")
    assert "Price a board foot" in page_of(at_desk, ash)
    at_desk.post(reverse("offer-new", args=[ash.pk]), offered())
    assert (ash.offers.get().per, ash.offers.get().length) == ("board foot", None)


def test_an_offer_ends_only_on_its_own_materials_page(at_desk):
    oak, ash = make_material(), make_material()
    made = cataloguing.add_offer(
        material=oak,
        supplier=make_supplier(),
        price=Decimal(92),
        seen_on=date(2026, 11, 3),
        length=inches(96),
        width=inches(48),
    )
    assert at_desk.post(reverse("offer-end", args=[ash.pk, made.pk])).status_code == 404
    assert oak.offers.current().exists()
    for _ in range(2):
        assert at_desk.post(reverse("offer-end", args=[oak.pk, made.pk])).status_code == 302
    assert not oak.offers.current().exists()


# ---- names, goods, lists ----------------------------------------------------------------------------------


def test_a_name_is_added_once_and_can_be_forgotten(at_desk):
    oak = make_material("oak ply")
    for _ in range(2):
        at_desk.post(reverse("name-new", args=[oak.pk]), {"name": "W.O. Ply"})
    name = oak.names.get()
    assert "W.O. Ply" in page_of(at_desk, oak)
    for _ in range(2):
        assert at_desk.post(reverse("name-remove", args=[oak.pk, name.pk])).status_code == 302
    assert not oak.names.exists()


def test_a_name_of_another_material_comes_back_as_typed(at_desk):
    oak, ash = make_material("oak ply"), make_material("ash ply")
    cataloguing.add_name(material=oak, name="W.O. Ply")
    answer = at_desk.post(reverse("name-new", args=[ash.pk]), {"name": "w.o. ply"})
    assert answer.status_code == 422
    assert "already stands for oak ply" in answer.content.decode()
    assert fields_on(answer)["name"] == "w.o. ply"


def test_a_name_is_not_removed_through_another_materials_page(at_desk):
    oak, ash = make_material(), make_material()
    name = cataloguing.add_name(material=oak, name="W.O. Ply")
    at_desk.post(reverse("name-remove", args=[ash.pk, name.pk]))
    assert oak.names.exists()


def test_goods_that_were_there_are_counted_in_once(at_desk):
    hinge = make_material("butt hinge", "goods", unit="pair")
    form = {"key": "tap-1", "quantity": "12", "value": "50.40"}
    for _ in range(2):
        at_desk.post(reverse("goods-put-in", args=[hinge.pk]), form)
    assert [(lot.left, lot.value) for lot in GoodsLot.objects.all()] == [(12, Decimal("50.40"))]
    assert "12" in page_of(at_desk, hinge)


def test_a_count_that_will_not_do_comes_back_as_typed(at_desk):
    hinge = make_material("butt hinge", "goods", unit="pair")
    answer = at_desk.post(reverse("goods-put-in", args=[hinge.pk]), {"key": "k", "quantity": "a few"})
    assert answer.status_code == 422
    assert fields_on(answer)["quantity"] == "a few"
    assert not GoodsLot.objects.exists()


def test_the_bench_sees_what_there_is_and_no_way_to_change_it(at_rack, bench):
    oak = make_material("oak ply")
    make_offcut(by=bench, material=oak)
    page = page_of(at_rack, oak)
    assert f"{reverse('stock')}?material={oak.pk}" in page
    for name in ("material-edit", "offer-new", "name-new"):
        assert reverse(name, args=[oak.pk]) not in page


def test_a_longer_list_of_materials_asks_no_more_often(at_desk, buyer):
    def keep(count):
        for _ in range(count):
            make_offcut(by=buyer, material=make_material(species=Species.objects.first()))

    keep(3)
    at_three = queries_of(at_desk, reverse("materials"))
    keep(27)
    assert queries_of(at_desk, reverse("materials")) == at_three < 10


def test_a_material_with_more_offers_and_names_asks_no_more_often(at_desk):
    oak = make_material()

    def know(count):
        for number in range(count):
            cataloguing.add_name(material=oak, name=f"name {count} {number}")
            cataloguing.add_offer(
                material=oak,
                supplier=make_supplier(),
                price=Decimal(number),
                seen_on=date(2026, 11, 3),
                length=inches(96),
                width=inches(48),
            )

    know(3)
    address = reverse("material", args=[oak.pk])
    at_three = queries_of(at_desk, address)
    know(27)
    assert queries_of(at_desk, address) == at_three < 14
