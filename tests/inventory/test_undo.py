"""What may be taken back, what stands in the way, and what goes with it."""

from decimal import Decimal

import pytest

from inventory import goods, handling, ledger, sawing
from inventory.models import LabelToPrint, State
from inventory.putting_in import put_in_goods
from jobs.holding import hold
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_job, make_material, make_person, make_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return make_person()


@pytest.fixture
def hinges():
    return make_material("hinges", kind="goods")


def test_goods_that_a_job_gave_back_keep_their_issue_from_being_undone(owner, hinges):
    put_in_goods(material=hinges, quantity=Decimal(10), value=Decimal("10.00"), by=owner)
    issued = goods.issue(material=hinges, quantity=Decimal(4), by=owner, job_number="26-001")
    goods.issue(material=hinges, quantity=Decimal(3), by=owner, job_number="26-002")
    goods.put_back(material=hinges, quantity=Decimal(2), by=owner, job_number="26-001")
    with pytest.raises(Refused, match="Some of these hinges were put back"):
        ledger.undo(issued[0], by=owner)
    assert goods.in_stock(hinges) == 5


def test_an_issue_is_undone_whatever_other_jobs_took_since(owner, hinges):
    lot = put_in_goods(material=hinges, quantity=Decimal(10), value=Decimal("9.99"), by=owner)
    issued = goods.issue(material=hinges, quantity=Decimal(4), by=owner, job_number="26-001")
    goods.issue(material=hinges, quantity=Decimal(3), by=owner, job_number="26-002")
    ledger.undo(issued[0], by=owner)
    lot.refresh_from_db()
    assert (lot.left, lot.value) == (7, Decimal("9.99") - Decimal("3.00"))


def test_goods_given_back_and_issued_again_do_not_go_back_to_the_job(owner, hinges):
    put_in_goods(material=hinges, quantity=Decimal(2), value=Decimal("1.99"), by=owner)
    goods.issue(material=hinges, quantity=Decimal(1), by=owner, job_number="26-001")
    back = goods.put_back(material=hinges, quantity=Decimal(1), by=owner, job_number="26-001")
    goods.issue(material=hinges, quantity=Decimal(1), by=owner, job_number="26-002")
    goods.issue(material=hinges, quantity=Decimal(1), by=owner, job_number="26-002")
    with pytest.raises(Refused, match="issued again since"):
        ledger.undo(back[0], by=owner)


def test_the_last_of_a_lot_leaves_no_cent_behind_when_goods_go_back_to_a_job(owner, hinges):
    put_in_goods(material=hinges, quantity=Decimal(3), value=Decimal("0.02"), by=owner)
    goods.issue(material=hinges, quantity=Decimal(1), by=owner, job_number="26-001")  # 0.01, 2 left at 0.01
    goods.issue(material=hinges, quantity=Decimal(1), by=owner, job_number="26-002")  # 0.00, 1 left at 0.01
    back = goods.put_back(material=hinges, quantity=Decimal(1), by=owner, job_number="26-002")
    goods.issue(material=hinges, quantity=Decimal(1), by=owner, job_number="26-003")  # 0.00, 1 left at 0.01
    with pytest.raises(Refused, match="issued again since"):
        ledger.undo(back[0], by=owner)


def test_a_find_is_not_undone_while_the_piece_is_held(owner):
    sheet = make_sheet(by=owner)
    handling.lose(piece=sheet, by=owner)
    found = handling.find(piece=sheet, by=owner)
    hold(piece=sheet, job=make_job(number="26-004"), by=owner)
    with pytest.raises(Refused, match="held for 26-004"):
        ledger.undo(found, by=owner)
    sheet.refresh_from_db()
    assert sheet.state == State.ON_RACK


def test_no_label_waits_for_an_offcut_whose_cut_was_undone(owner):
    sheet = make_sheet(by=owner)
    cut = sawing.cut_up(piece=sheet, left=[sawing.LeftOver(inches(40), inches(40))], parts_area=0, by=owner)
    assert LabelToPrint.objects.filter(piece__in=[sheet, *cut.offcuts]).count() == 2
    ledger.undo(cut.movement, by=owner)
    assert [label.piece for label in LabelToPrint.objects.all()] == [sheet]
