"""Narrowing stock and materials down."""

from decimal import Decimal

import pytest
from django.http import QueryDict
from django.utils import timezone

from inventory import cataloguing, handling, putting_in
from inventory.filters import MaterialFilter, StockFilter
from inventory.models import Piece, Species
from jobs import holding
from shared.models import Shop
from tests.factories import make_job, make_material, make_offcut, make_person, make_place, make_sheet

pytestmark = pytest.mark.django_db


def found(query="", unit="in"):
    asked = StockFilter(QueryDict(query), shop=Shop(unit=unit))
    assert asked.is_valid(), asked.errors
    return list(asked.qs)


def codes_of(*pieces):
    return {piece.code for piece in pieces}


def codes_found(query="", unit="in"):
    return codes_of(*found(query, unit))


def test_what_is_asked_without_a_state_is_on_the_rack(bench):
    there, pulled, lost = (make_offcut(by=bench) for _ in range(3))
    handling.pull(piece=pulled, by=bench)
    handling.lose(piece=lost, by=bench)
    assert codes_found() == codes_of(there)
    assert codes_found("state=pulled") == codes_of(pulled)
    assert codes_found("state=any") == codes_of(there, pulled, lost)


def test_kind_material_and_thickness_narrow_down(bench):
    oak, thin = make_material("oak"), make_material("oak thin", thickness_text="1/4")
    sheet = make_sheet(by=bench, material=oak)
    offcut, other = make_offcut(by=bench, material=oak), make_offcut(by=bench, material=thin)
    assert codes_found("kind=sheet") == codes_of(sheet)
    assert codes_found(f"material={oak.pk}") == codes_of(sheet, offcut)
    assert codes_found("thickness=1/4") == codes_of(other)
    assert codes_found(f"thickness=1/4&material={oak.pk}") == set()


def test_a_species_is_found_in_all_its_materials(bench):
    ash = Species.objects.get(name="Ash, white")
    ply = make_offcut(by=bench, material=make_material("ash ply", species=ash))
    board = make_offcut(by=bench, material=make_material("ash 5/4", "lumber", species=ash))
    make_offcut(by=bench)
    assert codes_found(f"species={ash.pk}") == codes_of(ply, board)


def test_a_place_holds_what_is_in_the_places_within_it(bench):
    wall, other = make_place(), make_place()
    bay = cataloguing.add_place(name="bay", within=wall)
    shelf = cataloguing.add_place(name="shelf", within=bay)
    on_shelf, on_wall = make_offcut(by=bench, place=shelf), make_offcut(by=bench, place=wall)
    make_offcut(by=bench, place=other)
    assert codes_found(f"place={wall.pk}") == codes_of(on_shelf, on_wall)
    assert codes_found(f"place={shelf.pk}") == codes_of(on_shelf)


def test_what_is_held_is_told_from_what_is_free(bench):
    held, free = make_offcut(by=bench), make_offcut(by=bench)
    holding.hold(piece=held, job=make_job(), by=bench)
    assert codes_found("held=held") == codes_of(held)
    assert codes_found("held=free") == codes_of(free)
    assert codes_found() == codes_of(held, free)


def test_a_size_is_read_in_the_shops_unit(bench):
    make_offcut(by=bench, length="20", width="10")
    large = make_offcut(by=bench, length="40", width="20")
    assert codes_found("length=30&width=15") == codes_of(large)
    assert codes_found("length=762&width=381", unit="mm") == codes_of(large)
    assert codes_found("length=381&width=762&way=grain", unit="mm") == set()


@pytest.mark.parametrize(
    ("query", "text"),
    [
        ("", ""),
        ("length=30&width=12 1/2", "at least 30 × 12 1/2, either way"),
        ("length=30&way=grain", "at least 30 in long, length with the grain"),
        ("width=12", "at least 12 in wide, either way"),
    ],
)
def test_the_size_asked_for_is_said_in_words(query, text):
    assert StockFilter(QueryDict(query), shop=Shop(unit="in")).size_text == text


def test_words_are_looked_for_in_the_materials_name(bench):
    oak = make_offcut(by=bench, material=make_material("White oak ply 3/4"))
    make_offcut(by=bench, material=make_material("Red oak ply 3/4"))
    assert codes_found("q=OAK white") == codes_of(oak)
    assert codes_found("q=walnut") == set()


def test_the_first_characters_of_a_code_find_it_however_they_are_typed(bench):
    pieces = [make_offcut(by=bench) for _ in range(12)]
    wanted = pieces[5]
    Piece.objects.filter(pk=wanted.pk).update(code="K1M05Q")
    Piece.objects.filter(pk=pieces[6].pk).update(code="K1M77Q")
    for text in ("k1m-05", "KLM O5", "kim0", "K1M-05Q"):
        assert codes_found(f"q={text}") == {"K1M05Q"}
    assert codes_found("q=k1m") == {"K1M05Q", "K1M77Q"}


def test_what_may_be_a_code_or_a_word_finds_both(bench):
    oak = make_offcut(by=bench, material=make_material("0ak"))
    other = make_offcut(by=bench, material=make_material("plain"))
    Piece.objects.filter(pk=other.pk).update(code="0AK05Q")
    assert codes_found("q=oak") == {"0AK05Q"}
    assert codes_found("q=0ak") == {oak.code, "0AK05Q"}


def test_a_code_is_looked_for_among_what_else_is_asked(bench):
    oak, ash = make_material("white"), make_material("grey")
    for code, material in (("K1M05Q", oak), ("K1M77Q", ash)):
        Piece.objects.filter(pk=make_offcut(by=bench, material=material).pk).update(code=code)
    assert codes_found(f"q=k1m&material={ash.pk}") == {"K1M77Q"}


def test_where_a_size_is_asked_the_smallest_that_holds_it_comes_first(bench):
    for length, width in (("60", "40"), ("30", "12"), ("12", "96")):
        make_offcut(by=bench, length=length, width=width)
    areas = [piece.area for piece in found("length=30&width=12")]
    assert areas == sorted(areas)
    assert len(areas) == 3


def test_the_newest_comes_first_where_nothing_else_is_asked(bench):
    first, second = make_offcut(by=bench), make_offcut(by=bench)
    Piece.objects.filter(pk=first.pk).update(made_at=timezone.now() - timezone.timedelta(days=1))
    assert [piece.pk for piece in found()] == [second.pk, first.pk]


def test_the_order_along_the_walk_is_that_of_the_places(bench):
    far, near = make_place(), make_place()
    cataloguing.change_place(place=far, name=far.name, within=None, walk_order=99_999)
    pieces = [make_offcut(by=bench, place=place) for place in (far, near)]
    assert [piece.pk for piece in found("sort=place")] == [pieces[1].pk, pieces[0].pk]


def test_what_can_not_be_read_finds_nothing_and_says_so(bench):
    make_offcut(by=bench)
    asked = StockFilter(QueryDict("length=long&state=any"), shop=Shop(unit="in"))
    assert list(asked.qs) == []
    assert "is not a length" in str(asked.errors["length"])


# ---- materials --------------------------------------------------------------------------------------------


def materials_found(query=""):
    return [material.name for material in MaterialFilter(QueryDict(query)).qs]


def test_materials_come_by_kind_with_sheets_first():
    make_material("hinge", "goods")
    make_material("ash", "lumber")
    make_material("oak ply")
    make_material("birch ply")
    assert materials_found() == ["birch ply", "oak ply", "ash", "hinge"]
    assert materials_found("kind=lumber") == ["ash"]


def test_a_material_is_found_by_any_of_its_names():
    oak = make_material("white oak ply", core="veneer core")
    make_material("birch ply")
    cataloguing.add_name(material=oak, name="W.O. Ply 19")
    for words in ("oak white", "veneer", "w.o. 19"):
        assert materials_found(f"q={words}") == ["white oak ply"]


def test_what_is_no_longer_kept_is_shown_only_when_asked_for():
    make_material("teak ply", retired=True)
    make_material("oak ply")
    assert materials_found() == ["oak ply"]
    assert materials_found("only=retired") == ["teak ply"]


def test_goods_to_order_are_those_at_or_under_their_reorder_point():
    buyer = make_person("buyer")
    for name, left in (("low", 3), ("at it", 4), ("plenty", 5)):
        goods = make_material(name, "goods", reorder_point=Decimal(4))
        putting_in.put_in_goods(material=goods, quantity=Decimal(left), by=buyer)
    make_material("never ordered", "goods")
    make_material("none left", "goods", reorder_point=Decimal(1))
    assert materials_found("only=low") == ["at it", "low", "none left"]


def test_a_material_comes_with_what_there_is_of_it(bench):
    oak = make_material("oak")
    make_offcut(by=bench, material=oak)
    handling.pull(piece=make_offcut(by=bench, material=oak), by=bench)
    glue = make_material("glue", "goods", is_counted_whole=False)
    for amount in ("1.5", "2"):
        putting_in.put_in_goods(material=glue, quantity=Decimal(amount), by=bench)
    rows = {one.name: (one.on_rack, one.left) for one in MaterialFilter(QueryDict("")).qs}
    assert rows == {"oak": (1, 0), "glue": (0, Decimal("3.5"))}
