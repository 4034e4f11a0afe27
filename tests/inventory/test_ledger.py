"""The ledger's rules, one at a time. The state machine in test_ledger_machine.py walks them all."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from inventory import goods, handling, ledger, receiving, sawing
from inventory.models import Account, Movement, Piece, State, Verb
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_material, make_person, make_place, make_sheet, make_sheets, make_supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return make_person()


def test_freight_and_tax_are_spread_over_the_sheets_to_the_cent(owner):
    sheets = make_sheets(3, by=owner, price="33.33", freight=Decimal("10.00"), tax=Decimal("0.01"))
    assert sum(sheet.value for sheet in sheets) == Decimal("110.00")
    assert max(s.value for s in sheets) - min(s.value for s in sheets) <= Decimal("0.01")


def test_a_receipt_entered_twice_is_refused_and_adds_nothing(owner):
    yard, material = make_supplier(), make_material()
    line = receiving.SheetLine(material, 2, inches(96), inches(48), Decimal(90))
    entry = {"supplier": yard, "number": "881", "date": date(2026, 11, 2), "lines": [line], "by": owner}
    receiving.receive(**entry)
    with pytest.raises(Refused, match="entered already"):
        receiving.receive(**entry)
    assert Piece.objects.count() == 2


def test_the_same_tap_sent_twice_counts_once(owner):
    yard, material = make_supplier(), make_material()
    line = receiving.SheetLine(material, 2, inches(96), inches(48), Decimal(90))
    entry = {"supplier": yard, "number": "881", "date": date(2026, 11, 2), "lines": [line], "by": owner}
    assert receiving.receive(**entry, key="k1") == receiving.receive(**entry, key="k1")
    sheet = Piece.objects.first()
    assert handling.pull(piece=sheet, by=owner, key="k2") == handling.pull(piece=sheet, by=owner, key="k2")
    first = sawing.cut_up(piece=sheet, left=[], parts_area=0, by=owner, key="k3")
    assert sawing.cut_up(piece=sheet, left=[], parts_area=0, by=owner, key="k3") == first


def test_an_offcut_carries_its_share_times_the_keep_rate(owner):
    sheet = make_sheet(by=owner, price="92.00")
    half = sawing.LeftOver(inches(48), inches(48))
    cut = sawing.cut_up(piece=sheet, left=[half], parts_area=0, by=owner, account=Account.JOB, job_number="1")
    assert cut.offcuts[0].value == Decimal("23.00")  # half the area, half of 92.00 kept
    assert cut.movement.waste_area == sheet.area // 2


def test_offcuts_and_parts_cannot_be_more_than_the_piece(owner):
    sheet = make_sheet(by=owner)
    half = sawing.LeftOver(inches(48), inches(48))
    with pytest.raises(Refused, match="more than"):
        sawing.cut_up(piece=sheet, left=[half, half], parts_area=1, by=owner)
    with pytest.raises(Refused, match="can't be left"):
        sawing.cut_up(piece=sheet, left=[sawing.LeftOver(inches(97), inches(1))], parts_area=0, by=owner)
    sheet.refresh_from_db()
    assert sheet.state == State.ON_RACK


def test_a_movement_is_never_changed_or_deleted(owner):
    make_sheet(by=owner)
    with pytest.raises(DatabaseError), transaction.atomic():
        Movement.objects.update(note="other")
    with pytest.raises(DatabaseError), transaction.atomic():
        Movement.objects.all().delete()


def test_a_cut_is_undone_with_its_offcuts(owner):
    sheet = make_sheet(by=owner, place=make_place())
    cut = sawing.cut_up(piece=sheet, left=[sawing.LeftOver(inches(40), inches(40))], parts_area=0, by=owner)
    ledger.undo(cut.movement, by=owner)
    sheet.refresh_from_db()
    offcut = cut.offcuts[0]
    offcut.refresh_from_db()
    assert (sheet.state, sheet.value, sheet.place is not None) == (State.ON_RACK, Decimal("92.00"), True)
    assert (offcut.state, offcut.value) == (State.VOID, 0)
    with pytest.raises(Refused, match="undone already"):
        ledger.undo(cut.movement, by=owner)


def test_an_undo_is_refused_where_something_stands_on_it(owner):
    sheet = make_sheet(by=owner)
    cut = sawing.cut_up(piece=sheet, left=[sawing.LeftOver(inches(40), inches(40))], parts_area=0, by=owner)
    handling.pull(piece=cut.offcuts[0], by=owner)
    with pytest.raises(Refused, match=str(cut.offcuts[0])):
        ledger.undo(cut.movement, by=owner)


def test_a_lost_piece_found_again_carries_what_it_carried(owner):
    sheet = make_sheet(by=owner, place=make_place())
    handling.lose(piece=sheet, by=owner)
    sheet.refresh_from_db()
    assert (sheet.state, sheet.value) == (State.LOST, 0)
    handling.find(piece=sheet, by=owner)
    sheet.refresh_from_db()
    assert (sheet.state, sheet.value) == (State.ON_RACK, Decimal("92.00"))


def test_goods_go_first_in_first_out_and_no_cent_is_lost(owner):
    hinge, yard = make_material(kind="goods"), make_supplier()
    for number, quantity, price in (("1", 3, "3.34"), ("2", 5, "4.00")):
        receiving.receive(
            supplier=yard,
            number=number,
            date=date(2026, 11, 2),
            lines=[receiving.GoodsLine(hinge, Decimal(quantity), Decimal(price))],
            by=owner,
        )
    moves = goods.issue(material=hinge, quantity=Decimal(4), by=owner, job_number="26-001")
    assert [m.value for m in moves] == [Decimal("-10.02"), Decimal("-4.00")]
    back = goods.put_back(material=hinge, quantity=Decimal(2), by=owner, job_number="26-001")
    assert sum(m.value for m in back) == Decimal("7.34")
    assert goods.in_stock(hinge) == 6
    with pytest.raises(Refused, match="Only 6"):
        goods.issue(material=hinge, quantity=Decimal(7), by=owner)


def test_boards_are_paid_by_the_tally_the_invoice_uses(owner):
    ash = make_material(kind="lumber", thickness_text="4/4", thickness=inches(1))
    boards = ((inches(7), inches(96)), (inches("5 1/2"), inches(120)))
    line = receiving.BoardLine(ash, boards, Decimal("8.00"))
    receiving.receive(supplier=make_supplier(), number="7", date=date(2026, 11, 2), lines=[line], by=owner)
    first, second = Piece.objects.order_by("pk")
    assert (first.tally_board_feet, second.tally_board_feet) == (5, 5)  # 4 2/3 and 4 7/12, to whole feet
    assert first.value + second.value == Decimal("80.00")


def test_a_standing_movement_is_neither_undone_nor_an_undoing(owner):
    sheet = make_sheet(by=owner)
    pulled = handling.pull(piece=sheet, by=owner)
    ledger.undo(pulled, by=owner)
    assert [m.verb for m in sheet.movements.standing()] == [Verb.RECEIVE]
