"""What undoing does to a job, and what stands in its way."""

from decimal import Decimal

import pytest

from inventory import goods
from inventory.models import Movement
from inventory.putting_in import put_in_goods
from inventory.sawing import LeftOver
from jobs import auditing, buying, holding, making, undoing
from jobs.models import BuyLine, Hold, Layout, Part
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_job, make_material, make_part, make_person, make_sheet
from tests.jobs.layouts_of_jobs import accepted_layout

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return make_person()


def counts(part: Part) -> tuple[int, int]:
    part.refresh_from_db()
    return part.cut, part.spoiled


def test_a_cut_that_gave_more_than_is_wanted_now_is_undone_all_the_same(owner):
    ply, job = make_material(), make_job()
    part = make_part(job, ply, length="30", width="10", quantity=4)
    first, second = (accepted_layout(make_sheet(by=owner, material=ply), part, owner) for _ in range(2))
    Part.objects.filter(pk=part.pk).update(quantity=3)
    making.cut_layout(layout=first, left=[], by=owner)
    cut = making.cut_layout(layout=second, left=[], by=owner)
    assert counts(part) == (3, 0)
    undoing.undo(movement=cut.movement, by=owner)
    assert counts(part) == (2, 0)


def test_a_spare_part_stands_in_for_a_spoiled_one_when_a_cut_is_undone(owner):
    ply, job = make_material(), make_job()
    part = make_part(job, ply, length="30", width="10", quantity=4)
    first, second = (accepted_layout(make_sheet(by=owner, material=ply), part, owner) for _ in range(2))
    making.cut_layout(layout=first, left=[], by=owner)
    cut = making.cut_layout(layout=second, left=[], by=owner)
    making.spoil(part=part, count=1, by=owner)
    undoing.undo(movement=cut.movement, by=owner)
    assert counts(part) == (1, 1)
    with pytest.raises(Refused, match="1 of side were marked spoiled"):
        undoing.undo(movement=Movement.objects.get(verb="cut", layout=first), by=owner)
    assert auditing.faults() == []


def test_a_layout_whose_piece_another_job_has_cut_waits_no_more(owner):
    ply = make_material()
    sheet = make_sheet(by=owner, material=ply)
    mine, other = make_job(), make_job()
    waiting = accepted_layout(sheet, make_part(mine, ply, length="30", width="10"), owner)
    holding.release(piece=sheet, by=owner)
    taken = accepted_layout(sheet, make_part(other, ply, length="30", width="10"), owner)
    making.cut_layout(layout=taken, left=[LeftOver(inches(12), inches(10))], by=owner)
    waiting.refresh_from_db()
    assert waiting.state == Layout.State.DROPPED


def test_a_tap_that_held_a_piece_is_answered_again_after_its_release(owner):
    sheet, job = make_sheet(by=owner), make_job()
    holding.hold(piece=sheet, job=job, by=owner, key="k1")
    holding.release(piece=sheet, by=owner, key="k2")
    assert holding.hold(piece=sheet, job=job, by=owner, key="k1") is None
    assert not Hold.objects.exists()


def test_abrasive_by_the_sheet_does_not_keep_a_given_up_plans_sheets_on_the_buy_list(owner):
    job, ply = make_job(), make_material()
    paper = buying.want(job=job, material=make_material(kind="goods", unit="sheet"), quantity=Decimal(10))
    BuyLine.objects.create(
        job=job, material=ply, quantity=1, unit="sheet", length=inches(96), width=inches(48)
    )
    holding.give_up_plan(job=job, by=owner)
    assert list(job.buy_lines.open()) == [paper]


def test_what_was_undone_is_taken_off_the_job_on_the_day_of_the_undoing(owner):
    hinges, job = make_material(kind="goods"), make_job()
    put_in_goods(material=hinges, quantity=Decimal(4), value=Decimal("8.00"), by=owner)
    making.issue_goods(job=job, material=hinges, quantity=Decimal(3), by=owner)
    undoing.undo(movement=Movement.objects.get(verb="issue"), by=owner)
    assert goods.in_stock(hinges) == 4
    assert [charge.at for charge in job.charges.all()] == [
        charge.movement.at for charge in job.charges.select_related("movement")
    ]
