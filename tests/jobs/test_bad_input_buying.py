"""Deliveries that will not do: a sentence each, and nothing comes onto the rack."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inventory.models import Piece, Supplier
from jobs.models import BuyLine
from tests.factories import make_job, make_material, make_part
from tests.jobs.refusing import FAR_TOO_LONG, WOULD_DO, accepted_plan, refused
from tests.pages import words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet_line(job, owner, ply):
    make_part(job, ply)
    accepted_plan(job, owner)
    return BuyLine.objects.get()


@pytest.fixture
def board_line(owner):
    making_of = make_job()
    make_part(making_of, make_material("ash 5/4", kind="lumber"), name="leg", length="29", width="2 3/4")
    accepted_plan(making_of, owner)
    return BuyLine.objects.get(job=making_of)


HOW_MANY = "How many came: Write how many sheets came: a whole number from 1 to 9999."
HEAD = {"supplier": "The yard", "number": "77", "date": "2026-11-20"}


def arrived(line, **typed):
    """The form of what has come, one line of it."""
    own = {
        f"{name}_{line.pk}": text for name, text in typed.items() if name not in HEAD and name != "freight"
    }
    return {**HEAD, "line": line.pk, **typed, **own}


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"count": "0"}, HOW_MANY),
        ({"count": "-1"}, HOW_MANY),
        ({"count": "1.5"}, HOW_MANY),
        ({"count": "1e9"}, HOW_MANY),
        ({"count": "a few"}, HOW_MANY),
        ({"count": ""}, "This field is required."),
        ({"price": "-5"}, "Price a sheet: "),
        ({"price": "1e9"}, "Price a sheet: "),
        ({"price": "9" * 25}, "Price a sheet: "),
        ({"price": ""}, "Price a sheet: This field is required."),
        ({"length": "1/0"}, f'"1/0" divides by zero. {WOULD_DO}'),
        ({"length": "-96", "width": "48"}, f'"-96" is below zero. {WOULD_DO}'),
        ({"date": "yesterday"}, "Date: Enter a valid date."),
        ({"number": ""}, "Invoice or delivery number: This field is required."),
        ({"number": "7" * 41}, "Ensure this value has at most 40 characters (it has 41)."),
        ({"supplier": ""}, "Supplier: This field is required."),
        ({"supplier": "s" * 81}, "Ensure this value has at most 80 characters (it has 81)."),
        ({"freight": "-1"}, "Freight: "),
        ({"freight": "1.234"}, "Freight: "),
    ],
)
def test_a_delivery_that_will_not_do_is_not_entered(post, sheet_line, wrong, sentence):
    page = post("buying-receive", **arrived(sheet_line, **{"count": "1", "price": "95.00", **wrong}))
    refused(page, 422, sentence)
    assert not Piece.objects.exists()
    sheet_line.refresh_from_db()
    assert sheet_line.state == BuyLine.State.OPEN


@pytest.mark.parametrize("price", ["$1,246.30", "1.246,30 €", "1246.3"])
def test_a_price_is_typed_as_the_invoice_prints_it(post, sheet_line, price):
    sent = arrived(sheet_line, count="1", price=price) | {"freight": "$0.02"}
    assert post("buying-receive", **sent).status_code == 302
    assert Piece.objects.get().value == Decimal("1246.32")


@pytest.mark.parametrize(
    ("boards", "sentence"),
    [
        ("", "This field is required."),
        ("1/0 x 96", "divides by zero"),
        ("7 1/2 x 1/0", "divides by zero"),
        ("7 1/2", "7 1/2"),
        ("-7 x 96", "-7"),
        ("7 x 96 x 0", "0"),
        ("7 x 96 x 1000000", "1000000"),
        ("hello", "hello"),
        ("7 x 96\n7 x nine", "nine"),
    ],
)
def test_boards_that_are_none_are_not_entered(post, board_line, boards, sentence):
    page = post("buying-receive", **arrived(board_line, boards=boards, price="6.00"))
    refused(page, 422, sentence)
    assert not Piece.objects.exists()


@pytest.mark.parametrize("line", ["", "0", "987654", "²", "x", FAR_TOO_LONG])
def test_only_open_lines_of_the_list_are_received(post, desk, line):
    sentence = "Choose at least one line of the buy list that is still open."
    refused(post("buying-receive", line=line, **HEAD), 409, sentence)
    refused(desk.get(reverse("buying-receive"), {"line": line}), 409, sentence)


def test_a_delivery_is_entered_once_and_its_number_is_taken(post, sheet_line, job, owner, ply):
    sent = arrived(sheet_line, count="1", price="95.00") | {"key": "the same tap"}
    assert post("buying-receive", **sent).status_code == 302
    assert post("buying-receive", **sent).status_code in (302, 409)
    assert Piece.objects.count() == 1
    make_part(job, ply, name="top", length="90", width="47")
    accepted_plan(job, owner)
    line = BuyLine.objects.open().get()
    page = post("buying-receive", **arrived(line, count="1", price="95.00") | {"key": "another"})
    refused(page, 422, "is entered already")
    assert Piece.objects.count() == 1


def test_a_supplier_named_for_a_delivery_that_is_refused_is_not_kept(post, sheet_line):
    page = post("buying-receive", **arrived(sheet_line, count="1", price="95.00"), discount="1000")
    assert page.status_code == 422
    assert "discount" in words_of(page).lower()
    assert not Supplier.objects.filter(name=HEAD["supplier"]).exists()


def test_a_line_is_dropped_once_and_one_received_stays(post, sheet_line):
    for _ in range(2):
        assert post("buying-drop", sheet_line.pk).status_code == 302
    sheet_line.refresh_from_db()
    assert sheet_line.state == BuyLine.State.DROPPED
