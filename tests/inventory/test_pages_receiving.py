"""Receiving: typed from the invoice, checked, entered once."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import cataloguing
from inventory.models import GoodsLot, LabelToPrint, Piece, Receipt, Supplier
from shared.measure import inches
from tests.factories import make_material, make_place, make_sheets, make_supplier
from tests.inventory.forms_on_pages import fields_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard():
    return make_supplier("Northside Panel")


@pytest.fixture
def oak(yard):
    """A sheet with two standard sizes, of which one lies across the other."""
    material = make_material("white oak ply 3/4")
    for length, width in ((96, 48), (48, 96)):
        cataloguing.add_offer(
            material=material,
            supplier=yard,
            price=Decimal("92"),
            seen_on=date(2026, 11, 3),
            length=inches(length),
            width=inches(width),
        )
    return material


def size_of(material, length, width):
    return f"{material.pk}:{inches(length)}:{inches(width)}"


def invoice(supplier, **changes):
    """A head and no lines yet: what a test is about is added."""
    form = {
        "key": "tap-1",
        "supplier": supplier.pk if supplier else "",
        "new_supplier": "",
        "number": "118",
        "date": "2026-11-02",
        "place": "",
        "freight": "",
        "tax": "",
        "discount": "",
    }
    for sort, lines in (("sheets", 3), ("boards", 1), ("goods", 3)):
        form |= {f"{sort}-TOTAL_FORMS": str(lines), f"{sort}-INITIAL_FORMS": "0"}
    form |= {"boards-0-surface": "rough", "boards-0-counted": "usual"}
    return {**form, **{name.replace("__", "-"): value for name, value in changes.items()}}


def send(client, form, do="check"):
    return client.post(reverse("receive"), {**form, "do": do})


def sheets(material, count="2", price="92", **others):
    line = {"what": size_of(material, 96, 48), "count": count, "price": price, **others}
    return {f"sheets__0__{name}": value for name, value in line.items()}


# ---- checking first ---------------------------------------------------------------------------------------


def test_checking_shows_the_cost_and_enters_nothing(at_desk, yard, oak):
    answer = send(at_desk, invoice(yard, freight="10", **sheets(oak)))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "$194.00" in page  # 2 × 92 + 10
    assert "$97.00 a sheet" in page
    assert "Receive 2 sheets" in page
    assert not Receipt.objects.exists()
    assert not Piece.objects.exists()


def test_what_was_checked_is_what_is_entered(at_desk, buyer, yard, oak):
    place = make_place()
    checked = send(at_desk, invoice(yard, freight="10", place=place.pk, **sheets(oak)))
    answer = send(at_desk, fields_on(checked), do="enter")
    receipt = Receipt.objects.get()
    assert answer.url == reverse("receipt", args=[receipt.pk])
    assert (receipt.supplier, receipt.number, receipt.date) == (yard, "118", date(2026, 11, 2))
    assert (receipt.total, receipt.freight, receipt.entered_by) == (Decimal("194.00"), Decimal(10), buyer)
    pieces = Piece.objects.all()
    assert [(p.length, p.width, p.value, p.place) for p in pieces] == [
        (inches(96), inches(48), Decimal("97.00"), place)
    ] * 2
    assert LabelToPrint.objects.count() == 2


def test_the_same_tap_sent_twice_enters_one_receipt(at_desk, yard, oak):
    form = invoice(yard, **sheets(oak))
    first, second = send(at_desk, form, do="enter"), send(at_desk, form, do="enter")
    assert first.url == second.url
    assert (Receipt.objects.count(), Piece.objects.count()) == (1, 2)


def test_a_new_supplier_sent_twice_is_added_once(at_desk, oak):
    form = invoice(None, new_supplier="Marsh Hardwoods", **sheets(oak))
    assert send(at_desk, form, do="enter").url == send(at_desk, form, do="enter").url
    assert Supplier.objects.filter(name="Marsh Hardwoods").count() == 1


def test_changing_something_keeps_all_that_was_typed(at_desk, yard, oak):
    form = invoice(yard, freight="10", boards__0__boards="7 x 96\n5 x 120", **sheets(oak))
    held = fields_on(send(at_desk, form, do="change"))
    assert {name: held[name] for name in form} == {name: str(value) for name, value in form.items()}
    assert not Receipt.objects.exists()


@pytest.mark.parametrize("sort", ["sheets", "boards", "goods"])
def test_more_lines_keep_what_was_typed(at_desk, yard, oak, sort):
    form = invoice(yard, **sheets(oak, count="many"))
    held = fields_on(send(at_desk, form, do=sort))
    assert int(held[f"{sort}-TOTAL_FORMS"]) > int(form[f"{sort}-TOTAL_FORMS"])
    assert held["sheets-0-count"] == "many"
    assert held["number"] == "118"
    assert held["key"] == "tap-1"


def test_a_link_brings_lines_that_are_filled_in(at_desk, yard, oak):
    line = {"sheets-0-what": size_of(oak, 96, 48), "sheets-0-count": "4", "supplier": yard.pk}
    held = fields_on(at_desk.get(reverse("receive"), line))
    assert held["sheets-0-what"] == size_of(oak, 96, 48)
    assert held["sheets-0-count"] == "4"
    assert held["supplier"] == str(yard.pk)
    assert held["date"]
    assert held["key"]


# ---- lines ------------------------------------------------------------------------------------------------


def test_a_standard_size_across_the_grain_is_not_turned(at_desk, yard, oak):
    send(at_desk, invoice(yard, **sheets(oak, what=size_of(oak, 48, 96))), do="enter")
    assert {(p.length, p.width) for p in Piece.objects.all()} == {(inches(48), inches(96))}


def test_another_size_is_typed_and_a_measured_one_is_what_the_pieces_have(at_desk, yard, oak):
    typed = {"length": "8 ft", "width": "4 ft", "measured_width": "48 1/2", "measured_thickness": "18 mm"}
    send(at_desk, invoice(yard, **sheets(oak, what=str(oak.pk), **typed)), do="enter")
    line = Receipt.objects.get().lines.get()
    assert (line.length, line.width) == (inches(96), inches(48))
    assert {(p.length, p.width, p.thickness) for p in Piece.objects.all()} == {
        (inches(96), inches("48 1/2"), 720_000)
    }


def test_boards_by_tally_goods_and_sheets_come_on_one_receipt(at_desk, yard, oak):
    ash, hinge = make_material("ash 5/4", "lumber"), make_material("butt hinge", "goods", unit="pair")
    boards = {"material": ash.pk, "price": "6.00", "boards": "6 x 72 x 3", "surface": "surfaced"}
    goods = {"material": hinge.pk, "quantity": "6", "price": "4.20"}
    form = invoice(
        yard,
        **sheets(oak, count="1"),
        **{f"boards__0__{name}": value for name, value in boards.items()},
        **{f"goods__2__{name}": value for name, value in goods.items()},
    )
    checked = send(at_desk, form)
    # Three boards of 3 sq ft in 5/4 are 11 1/4, tallied 11; 11 × 6.00 + 92 + 6 × 4.20 = 183.20.
    assert "Receive 1 sheet and 3 boards and 1 lot of goods" in checked.content.decode()
    assert "11 board feet" in checked.content.decode()
    send(at_desk, fields_on(checked), do="enter")
    assert Receipt.objects.get().total == Decimal("183.20")
    assert Piece.objects.filter(kind="board", surface="surfaced").count() == 3
    assert GoodsLot.objects.get().left == 6


def test_boards_that_are_wider_than_long_are_asked_about(at_desk, yard):
    ash = make_material("ash 5/4", "lumber")
    boards = {"boards__0__material": ash.pk, "boards__0__price": "6", "boards__0__boards": "96 x 7"}
    assert "wider than long" in send(at_desk, invoice(yard, **boards)).content.decode()
    boards["boards__0__boards"] = "7 x 96"
    assert "wider than long" not in send(at_desk, invoice(yard, **boards)).content.decode()


# ---- refused ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"number": ""}, "Invoice or delivery number: This field is required."),
        ({"date": "yesterday"}, "Date on it: Enter a valid date."),
        ({"supplier": ""}, "Say who it came from"),
        ({"new_supplier": "Another Yard"}, "or name another, not both"),
        ({"freight": "-3"}, "is below zero"),
        ({"discount": "1000"}, "The discount is more than all the rest"),
        ({"sheets-0-count": "0"}, "Sheets, line 1, how many:"),
        ({"sheets-0-price": "-92"}, "Sheets, line 1, price each: &quot;-92&quot; is below zero."),
        ({"sheets-0-price": "$-92.00"}, "is below zero"),
        ({"sheets-0-price": "92.005"}, "has more than two decimals"),
        ({"sheets-0-count": "-2"}, "Sheets, line 1, how many:"),
        ({"sheets-0-price": "ninety"}, "Sheets, line 1, price each: &quot;ninety&quot; is not an amount"),
        ({"sheets-0-what": ""}, "Sheets, line 1, material and size: This field is required."),
        ({"sheets-0-length": "96"}, "A standard size is chosen"),
        ({"sheets-1-what": "", "sheets-1-count": "2"}, "Sheets, line 2, material and size:"),
        ({"boards-0-boards": "7 x\nseven"}, "Boards, line 1, boards, width × length, one a line: Line 2:"),
        ({"goods-0-quantity": "1.5"}, "Goods, line 1, goods: This field is required."),
    ],
)
def test_what_will_not_do_comes_back_as_typed_with_its_line(at_desk, yard, oak, changes, sentence):
    form = {**invoice(yard, **sheets(oak)), **changes}
    for do in ("check", "enter"):
        answer = send(at_desk, form, do=do)
        held = fields_on(answer)
        assert answer.status_code == 422
        assert sentence in answer.content.decode()
        assert {name: held[name] for name in form} == {name: str(value) for name, value in form.items()}
    assert not Receipt.objects.exists()


def test_a_size_that_is_not_standard_has_to_be_typed(at_desk, yard, oak):
    answer = send(at_desk, invoice(yard, **sheets(oak, what=str(oak.pk), length="96")))
    assert answer.status_code == 422
    assert "Sheets, line 1, width: A size that is not standard" in answer.content.decode()


def test_an_invoice_without_lines_is_refused(at_desk, yard):
    answer = send(at_desk, invoice(yard))
    assert answer.status_code == 422
    assert "Nothing is received yet" in answer.content.decode()


def test_a_number_that_was_entered_is_refused_when_it_is_checked(at_desk, yard, oak):
    send(at_desk, invoice(yard, **sheets(oak)), do="enter")
    for do in ("check", "enter"):
        answer = send(at_desk, invoice(yard, key="tap-2", **sheets(oak)), do=do)
        assert answer.status_code == 422
        assert "entered already" in answer.content.decode()
    assert Receipt.objects.count() == 1


@pytest.mark.parametrize("number", ["re 118", "RE 118", " Re  118 "])
def test_the_same_invoice_typed_otherwise_is_entered_once(at_desk, yard, oak, number):
    assert send(at_desk, invoice(yard, number="RE 118", **sheets(oak)), do="enter").status_code == 302
    for do in ("check", "enter"):
        again = send(at_desk, invoice(yard, number=number, key="tap-2", **sheets(oak)), do=do)
        assert again.status_code == 422
        assert "entered already" in again.content.decode()
    assert Piece.objects.count() == 2
    others = invoice(None, number="re 118", key="tap-3", new_supplier="Marsh Hardwoods", **sheets(oak))
    assert send(at_desk, others, do="enter").status_code == 302  # another's number is another invoice


@pytest.mark.parametrize("price", ["$1,246.30", "1246.30", "1.246,30 €", "1 246.30", "£ 1,246.30"])
def test_prices_are_typed_as_the_invoice_prints_them(at_desk, yard, oak, price):
    form = invoice(yard, freight="$10.02", **sheets(oak, price=price))
    assert send(at_desk, form, do="enter").status_code == 302
    assert Receipt.objects.get().total == Decimal("2502.62")
    assert [piece.value for piece in Piece.objects.all()] == [Decimal("1251.31")] * 2


@pytest.mark.parametrize(
    ("goods", "sentence"),
    [
        ({"quantity": "0"}, "Goods, line 1, how many:"),
        ({"quantity": "-1"}, "Goods, line 1, how many:"),
        ({"price": "-4"}, "is below zero"),
        ({"price": ""}, "Goods, line 1, price each, or a pack: This field is required."),
        ({"pack_name": "bucket"}, "can&#x27;t be turned into each"),
    ],
)
def test_goods_that_will_not_do_are_asked_again(at_desk, yard, goods, sentence):
    hinges = make_material(kind="goods")
    line = {"material": hinges.pk, "quantity": "2", "price": "4.00", **goods}
    form = invoice(yard, **{f"goods__0__{name}": value for name, value in line.items()})
    for do in ("check", "enter"):
        answer = send(at_desk, form, do=do)
        assert answer.status_code == 422
        assert sentence in answer.content.decode()
    assert not Receipt.objects.exists()


def test_a_supplier_named_for_a_delivery_that_is_refused_is_not_kept(at_desk, oak):
    form = invoice(None, new_supplier="Marsh Hardwoods", discount="1000", **sheets(oak))
    assert send(at_desk, form, do="enter").status_code == 422
    assert not Supplier.objects.filter(name="Marsh Hardwoods").exists()


# ---- receipts ---------------------------------------------------------------------------------------------


def test_a_receipt_shows_its_lines_its_pieces_and_the_way_to_their_labels(at_desk, buyer, yard):
    pieces = make_sheets(3, by=buyer, supplier=yard)
    answer = at_desk.get(reverse("receipt", args=[Receipt.objects.get().pk]))
    page = answer.content.decode()
    assert "$276.00" in page
    assert all(f"{piece.code[:3]}-{piece.code[3:]}" in page for piece in pieces)
    labels = at_desk.get(answer.context["labels_url"])
    assert [face.code for face in labels.context["faces"]] == [piece.code for piece in pieces]


def test_no_receipt_yet_says_what_to_do_first(at_desk):
    assert "Nothing was received yet" in at_desk.get(reverse("receipts")).content.decode()


def queries_of(client, address):
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return len(asked)


def test_a_longer_list_of_receipts_asks_no_more_often(at_desk, buyer):
    for _ in range(3):
        make_sheets(1, by=buyer)
    at_three = queries_of(at_desk, reverse("receipts"))
    for _ in range(27):
        make_sheets(1, by=buyer)
    assert queries_of(at_desk, reverse("receipts")) == at_three < 10


def test_a_receipt_of_many_pieces_asks_no_more_often(at_desk, buyer):
    few, many = make_sheets(3, by=buyer), make_sheets(30, by=buyer)
    asked = [
        queries_of(at_desk, reverse("receipt", args=[pieces[0].receipt_line.receipt_id]))
        for pieces in (few, many)
    ]
    assert asked[0] == asked[1] < 10


def test_more_to_choose_from_asks_no_more_often(at_desk, yard):
    def offer(count):
        for _ in range(count):
            cataloguing.add_offer(
                material=make_material(),
                supplier=yard,
                price=Decimal(9),
                seen_on=date(2026, 11, 3),
                length=inches(96),
                width=inches(48),
            )

    offer(3)
    at_three = queries_of(at_desk, reverse("receive"))
    offer(27)
    assert queries_of(at_desk, reverse("receive")) == at_three < 12
