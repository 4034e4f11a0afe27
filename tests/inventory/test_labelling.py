"""What labels say, and which wait."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import cataloguing, handling, labelling, ledger, receiving
from inventory.models import LabelToPrint, Movement, Piece, Verb
from inventory.sawing import LeftOver, cut_up
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from tests.factories import make_material, make_offcut, make_place, make_sheet, make_supplier

pytestmark = pytest.mark.django_db
SHOP = Shop(unit="in", scan_address="http://192.168.1.20:8000")


def face(thing, shop=SHOP):
    return labelling.faces([thing], shop)[0]


def test_a_label_says_what_a_piece_is_and_where_its_page_is(bench):
    oak = make_material("white oak ply 3/4")
    piece = make_offcut(by=bench, material=oak, length="40 1/2", width="22", note="good side up")
    said = face(piece)
    assert (said.code, said.heading, said.size_text) == (piece.code, "white oak ply 3/4", "40 1/2 × 22")
    assert said.address == f"HTTP://192.168.1.20:8000/S/{piece.code}"
    assert (said.kind, said.grain, said.length, said.width) == ("offcut", "length", piece.length, piece.width)
    assert said.lines[0] == "good side up"
    assert said.lines[-1].startswith("put in, ")


def test_a_label_is_in_the_shops_unit_and_has_no_grain_where_there_is_none(bench):
    piece = make_offcut(by=bench, material=make_material(is_grained=False), length="10", width="5")
    said = face(piece, Shop(unit="mm", scan_address="http://localhost:8000"))
    assert (said.size_text, said.grain) == ("254 × 127", "none")


def test_an_offcut_names_what_it_was_cut_from_and_a_sheet_who_sold_it(bench):
    sheet = make_sheet(by=bench, supplier=make_supplier("Northside"))
    (offcut,) = cut_up(piece=sheet, left=[LeftOver(inches(20), inches(10))], parts_area=0, by=bench).offcuts
    assert face(offcut).lines[0].startswith(f"from {sheet.code[:3]}-{sheet.code[3:]}, ")
    assert face(Piece.objects.get(pk=sheet.pk)).lines[0].startswith("Northside, ")


def test_a_thickness_of_its_own_is_on_the_label(bench):
    piece = make_offcut(by=bench, thickness=inches("11/16"))
    assert "11/16 in thick" in face(piece).lines


def test_no_label_says_a_price(bench):
    piece = make_sheet(by=bench, price="92.00")
    assert "92" not in " ".join(face(piece).lines)


def test_places_and_shelves_of_goods_have_labels_too(bench):
    shelf = cataloguing.add_place(name="shelf 3", within=make_place("bay A1"))
    glue = cataloguing.add_material(
        kind="goods", name="hide glue", unit="litre", reorder_point=Decimal("1.500")
    )
    said, of_glue = labelling.faces([shelf, glue], SHOP)
    assert (said.kind, said.heading, said.lines, said.size_text) == ("place", "shelf 3", ("in bay A1",), "")
    assert (of_glue.kind, of_glue.lines) == ("goods", ("counted in litre", "order at 1.5 litre"))


def test_an_address_that_can_not_be_printed_is_refused_in_a_sentence(bench):
    piece = make_offcut(by=bench)
    with pytest.raises(Refused, match="scan address"):
        face(piece, Shop(unit="in", scan_address="http://werkstatt-ä:8000"))


# ---- the queue --------------------------------------------------------------------------------------------


def test_what_is_made_waits_in_its_order_until_it_is_printed(bench):
    place = cataloguing.add_place(name="bay A1")
    first, second = make_offcut(by=bench), make_offcut(by=bench)
    assert labelling.waiting() == [place, first, second]
    assert labelling.waiting(2) == [place, first]
    assert labelling.printed([place.code, first.code]) == 2
    assert labelling.waiting() == [second]
    assert labelling.printed([first.code]) == 0


def test_what_is_gone_or_was_a_mistake_waits_no_longer(bench):
    scrapped, undone, pulled = (make_offcut(by=bench) for _ in range(3))
    handling.scrap(piece=scrapped, by=bench)
    ledger.undo(Movement.objects.get(piece=undone, verb=Verb.PUT_IN), by=bench)
    handling.pull(piece=pulled, by=bench)
    assert labelling.waiting() == [pulled]
    assert labelling.waiting_count() == 1


def test_a_label_asked_for_twice_waits_once(bench):
    piece, place = make_offcut(by=bench), make_place()
    hinge = cataloguing.add_material(kind="goods", name="hinge", unit="pair")
    LabelToPrint.objects.all().delete()
    for thing in (piece, place, hinge, piece):
        labelling.ask_for(thing)
    assert labelling.waiting() == [piece, place, hinge]


def test_things_come_in_the_order_of_their_codes_as_asked(bench):
    piece, place = make_offcut(by=bench), make_place()
    asked = [place.code, piece.code, "000000", place.code]
    assert labelling.things_with(asked) == [place, piece]


def test_many_labels_ask_the_database_no_more_often(bench):
    def made(count):
        line = receiving.SheetLine(make_material(), count, inches(96), inches(48), Decimal(9))
        number = f"R{count}"
        receiving.receive(
            supplier=make_supplier(), number=number, date=date(2026, 11, 2), lines=[line], by=bench
        )

    def asked():
        with CaptureQueriesContext(connection) as queries:
            labelling.faces(labelling.waiting(), SHOP)
        return len(queries)

    made(3)
    at_three = asked()
    made(30)
    assert asked() == at_three
