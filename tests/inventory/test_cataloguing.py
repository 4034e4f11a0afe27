"""What the shop keeps: materials, offers, names, places, suppliers."""

from datetime import date
from decimal import Decimal

import pytest

from inventory import cataloguing
from inventory.models import LabelToPrint, Material, MaterialName, Offer, Place, Supplier
from shared import codes
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_material, make_place, make_supplier

pytestmark = pytest.mark.django_db


def test_goods_get_a_code_for_their_shelf_and_its_label_waits():
    hinges = cataloguing.add_material(kind="goods", name="butt hinge", unit="pair")
    assert codes.is_valid(hinges.code)
    assert LabelToPrint.objects.get().material == hinges


def test_sheets_have_no_code_of_their_own():
    ply = cataloguing.add_material(kind="sheet", name="oak ply", thickness=inches("23/32"))
    assert ply.code == ""
    assert not LabelToPrint.objects.exists()


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [
        ({"kind": "sheet", "name": "OAK PLY", "thickness": 1}, "this kind with this name already"),
        ({"kind": "lumber", "name": "ash", "thickness": 1}, "Lumber needs its quarter"),
        ({"kind": "goods", "name": "hinge"}, "the unit they are counted in"),
        ({"kind": "sheet", "name": "thin air", "thickness": 0}, "an actual thickness above zero"),
        ({"kind": "sheet", "name": "", "thickness": 1}, "blank"),
    ],
)
def test_a_material_that_can_not_be_is_refused_in_the_words_of_its_rule(columns, sentence):
    make_material("oak ply")
    with pytest.raises(Refused, match=sentence):
        cataloguing.add_material(**columns)
    assert Material.objects.count() == 1


def test_a_change_writes_only_what_differs(django_assert_num_queries):
    ply = make_material("oak ply", core="veneer core")
    Material.objects.filter(pk=ply.pk).update(core="MDF core")  # by someone else, meanwhile
    cataloguing.change_material(material=ply, name="white oak ply", core="veneer core")
    ply = Material.objects.get(pk=ply.pk)
    assert (ply.name, ply.core) == ("white oak ply", "MDF core")


def offer(material, supplier, price, day=3, size=(96, 48)):
    length, width = (inches(size[0]), inches(size[1])) if size else (None, None)
    return cataloguing.add_offer(
        material=material,
        supplier=supplier,
        price=Decimal(price),
        seen_on=date(2026, 11, day),
        length=length,
        width=width,
    )


def current(material):
    return sorted(str(price) for price in material.offers.current().values_list("price", flat=True))


def test_a_new_price_takes_the_place_of_the_old_one_which_is_kept():
    ply, yard = make_material(), make_supplier()
    offer(ply, yard, "92")
    offer(ply, yard, "96.40", day=9)
    assert current(ply) == ["96.40"]
    assert [(o.price, o.is_current) for o in ply.offers.order_by("pk")] == [
        (Decimal("92"), False),
        (Decimal("96.40"), True),
    ]


def test_another_size_or_supplier_is_another_offer():
    ply, yard = make_material(), make_supplier()
    offer(ply, yard, "92")
    offer(ply, yard, "99", size=(48, 96))
    offer(ply, make_supplier(), "88")
    offer(make_material(), yard, "10")
    assert current(ply) == ["88", "92", "99"] or current(ply) == ["88.00", "92.00", "99.00"]


def test_the_same_price_seen_on_the_same_day_is_one_offer():
    ply, yard = make_material(), make_supplier()
    assert offer(ply, yard, "92") == offer(ply, yard, "92")
    assert offer(ply, yard, "92", day=9) != offer(ply, yard, "92")
    assert Offer.objects.current().count() == 1


def test_a_price_is_for_what_its_kind_is_sold_by():
    yard = make_supplier()
    ash, hinge = make_material(kind="lumber"), make_material(kind="goods")
    assert offer(ash, yard, "6.80", size=None).per == "board foot"
    assert offer(hinge, yard, "4.20", size=None).per == "unit"
    with pytest.raises(Refused, match="needs its length and width"):
        offer(make_material(), yard, "92", size=None)


def test_an_offer_that_ended_keeps_its_price():
    ply = make_material()
    ended = offer(ply, make_supplier(), "92")
    cataloguing.end_offer(offer=ended)
    assert not ply.offers.current().exists()
    assert ply.offers.get().price == Decimal("92")


def test_a_name_stands_for_one_material_however_it_is_written():
    oak, ash = make_material("oak"), make_material("ash")
    first = cataloguing.add_name(material=oak, name=" W.O.  Ply ")
    assert cataloguing.add_name(material=oak, name="w.o. ply") == first
    with pytest.raises(Refused, match="already stands for oak"):
        cataloguing.add_name(material=ash, name="W.o. PLY")
    cataloguing.remove_name(name=first)
    assert cataloguing.add_name(material=ash, name="W.O. Ply").material == ash
    assert MaterialName.objects.count() == 1


def test_a_new_place_comes_last_along_the_walk_and_its_label_waits():
    first, second = cataloguing.add_place(name="bay A1"), cataloguing.add_place(name="bay A2")
    assert second.walk_order == first.walk_order + 1
    assert codes.is_valid(first.code)
    assert {row.place for row in LabelToPrint.objects.all()} == {first, second}


def test_two_places_have_two_names():
    cataloguing.add_place(name="bay A1")
    with pytest.raises(Refused, match="a place with this name already"):
        cataloguing.add_place(name="bay A1")
    assert Place.objects.count() == 1


def test_a_place_is_never_within_itself_however_far_around():
    wall = make_place("wall")
    bay = cataloguing.add_place(name="bay", within=wall)
    shelf = cataloguing.add_place(name="shelf", within=bay)
    for inner in (wall, bay, shelf):
        with pytest.raises(Refused, match="within"):
            cataloguing.change_place(place=wall, name="wall", within=inner, walk_order=1)
    assert Place.objects.get(pk=wall.pk).within is None


def test_a_supplier_is_known_by_name_whatever_its_capitals():
    yard = cataloguing.add_supplier(name="Marsh Hardwoods")
    assert cataloguing.supplier_called(" marsh  hardwoods ") == yard
    assert cataloguing.supplier_called("Northside").pk != yard.pk
    assert Supplier.objects.count() == 2
    with pytest.raises(Refused, match="a supplier with this name already"):
        cataloguing.add_supplier(name="Marsh Hardwoods")
