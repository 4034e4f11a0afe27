"""The whole way of a job through the shop's functions: list, plan, hold, buy, receive, pull, cut, cost, undo."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.models import Offer, Piece, State
from inventory.sawing import LeftOver
from jobs import auditing, buying, costing, holding, layouts, making, planning, rounds, spending, undoing
from jobs.models import BuyLine, Layout, Plan
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from shared.shop import the_shop
from tests.factories import (
    make_job,
    make_material,
    make_offcut,
    make_part,
    make_person,
    make_sheet,
    make_supplier,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "planning_seconds": 1})
    return make_person()


@pytest.fixture
def ply():
    material = make_material("maple plywood 3/4")
    Offer.objects.create(
        material=material,
        supplier=make_supplier(),
        length=inches(96),
        width=inches(48),
        price=Decimal("92.00"),
        per=Offer.Per.SHEET,
        seen_on=date(2026, 11, 1),
    )
    return material


def planned(job, by) -> Plan:
    plan = Plan.objects.create(job=job, asked_by=by)
    planning.work_out(plan)
    plan.refresh_from_db()
    assert plan.state == Plan.State.READY, plan.error
    return plan


def test_an_offcut_goes_before_a_sheet_and_a_sheet_before_a_purchase(owner, ply):
    offcut = make_offcut(by=owner, material=ply, length="40", width="20")
    sheet = make_sheet(by=owner, material=ply)
    job = make_job()
    make_part(job, ply, length="36", width="18")
    assert [layout.piece for layout in planned(job, owner).layouts.all()] == [offcut]
    make_part(job, ply, name="top", length="60", width="22")
    assert {layout.piece for layout in planned(job, owner).layouts.all()} == {offcut, sheet}


def cut_all(plan, by):
    for layout in plan.layouts.select_related("piece", "plan"):
        drawn = layouts.read(layout, plan, {})
        left = [LeftOver(one.length, one.width) for one in layouts.offcuts(drawn)]
        making.pull(piece=layout.piece, by=by)
        making.cut_layout(layout=layout, left=left, by=by)


def test_a_job_from_list_to_cost(owner, ply):
    make_offcut(by=owner, material=ply, length="40", width="20", value="6.00")
    job = make_job()
    side = make_part(job, ply, length="36", width="18", quantity=1)
    shelf = make_part(job, ply, name="shelf", length="44", width="15", quantity=4)
    plan = planned(job, owner)
    assert plan.bought == Decimal("92.00")
    holding.accept(plan=plan, by=owner)
    line = BuyLine.objects.get(job=job)
    assert (line.quantity, line.length) == (1, inches(96))
    buying.receive(
        arrived=[buying.Arrived(line, Decimal(1), Decimal("95.00"))],
        supplier=make_supplier(),
        number="77",
        date=date(2026, 11, 20),
        by=owner,
        freight=Decimal("5.00"),
    )
    bought = Piece.objects.get(kind="sheet")
    assert bought.holder == job
    cut_all(plan, owner)
    side.refresh_from_db()
    shelf.refresh_from_db()
    assert (side.cut, shelf.cut) == (1, 4)
    cost = costing.job_cost(job)
    back = sum(piece.value for piece in Piece.objects.filter(kind="offcut", state=State.ON_RACK))
    assert cost.actual == Decimal("106.00") - back
    spent = spending.spend(spending.Asked())
    assert spent.total == spending.ledger_total(spending.Asked()) == cost.actual
    assert cost.to_buy == 0
    assert auditing.faults() == []


def test_undoing_a_cut_gives_back_parts_piece_and_charge(owner, ply):
    sheet = make_sheet(by=owner, material=ply)
    job = make_job()
    part = make_part(job, ply, quantity=2)
    plan = planned(job, owner)
    holding.accept(plan=plan, by=owner)
    cut_all(plan, owner)
    movement = Layout.objects.get(plan=plan).movement
    undoing.undo(movement=movement, by=owner)
    part.refresh_from_db()
    sheet.refresh_from_db()
    assert (part.cut, sheet.state, sheet.holder) == (0, State.PULLED, job)
    assert costing.job_cost(job).actual == 0
    assert auditing.faults() == []


def test_a_plan_whose_stock_has_changed_is_refused(owner, ply):
    sheet = make_sheet(by=owner, material=ply)
    job, other = make_job(), make_job()
    make_part(job, ply)
    plan = planned(job, owner)
    holding.hold(piece=sheet, job=other, by=owner)
    with pytest.raises(Refused, match="Plan again"):
        holding.accept(plan=plan, by=owner)
    assert not job.holds.exists()


def test_a_spoiled_part_goes_back_to_be_planned(owner, ply):
    make_sheet(by=owner, material=ply)
    job = make_job()
    part = make_part(job, ply, quantity=2)
    plan = planned(job, owner)
    holding.accept(plan=plan, by=owner)
    cut_all(plan, owner)
    making.spoil(part=part, count=1, by=owner, key="k", why="split")
    making.spoil(part=part, count=1, by=owner, key="k", why="split")
    assert [p.still_to_cut for p in planning.parts_to_cut(job)] == [1]
    with pytest.raises(Refused, match="spoiled"):
        undoing.undo(movement=Layout.objects.get(plan=plan).movement, by=owner)


def test_a_cut_without_a_job_is_written_off_and_the_rest_labelled(owner, ply):
    sheet = make_sheet(by=owner, material=ply)
    cut = making.cut_free(
        piece=sheet, taken=[(2, inches(20), inches(10))], left=[LeftOver(inches(70), inches(48))], by=owner
    )
    assert cut.offcuts[0].label_to_print
    assert cut.movement.parts_area == 2 * inches(20) * inches(10)
    assert auditing.faults() == []


def test_lumber_the_rack_does_not_give_is_bought_by_the_board_foot(owner):
    ash = make_material("ash 5/4", kind="lumber")
    job = make_job()
    make_part(job, ash, name="leg", length="29", width="2 3/4", quantity=4)
    plan = planned(job, owner)
    holding.accept(plan=plan, by=owner)
    line = BuyLine.objects.get(job=job)
    # 4 legs of 30 × 3 × 1 1/4 with the allowances: 3.125 board feet net, 20 % on net
    assert (line.unit, line.quantity) == ("board foot", Decimal("3.750"))
    assert the_shop().waste_on_net == Decimal("0.200")


def test_a_planner_that_falls_over_leaves_a_plan_that_says_so(owner, ply, monkeypatch):
    job = make_job()
    make_part(job, ply)
    plan = Plan.objects.create(job=job, asked_by=owner)

    def fall_over(*args, **options):
        raise ZeroDivisionError

    monkeypatch.setattr(rounds, "solve_apart", fall_over)
    with pytest.raises(ZeroDivisionError):
        planning.work_out(plan)
    plan.refresh_from_db()
    assert (plan.state, plan.error[:19]) == (Plan.State.FAILED, "The planner stopped")
