"""The frozen estimate and why a job costs other than it says, with figures reckoned by hand."""

from datetime import date
from decimal import Decimal

import pytest

from inventory import cataloguing, goods
from inventory.models import Piece
from inventory.putting_in import put_in_goods
from jobs import buying, costing, estimating, holding, making, planning
from jobs.models import BuyLine, GoodsWanted, Job, Plan
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from tests.factories import make_job, make_material, make_part, make_person, make_sheet, make_supplier

pytestmark = pytest.mark.django_db
NOTHING = Decimal("0.00")


@pytest.fixture
def by():
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "planning_seconds": 1})
    return make_person()


@pytest.fixture
def ply():
    material = make_material("maple plywood")
    cataloguing.add_offer(
        material=material,
        supplier=make_supplier("Counter"),
        price=Decimal("92.00"),
        seen_on=date(2026, 11, 1),
        length=inches(96),
        width=inches(48),
    )
    return material


def planned(job, by):
    plan = Plan.objects.create(job=job, asked_by=by)
    planning.work_out(plan)
    plan.refresh_from_db()
    return plan


def whole_sheet_job(ply, quantity=1, **others):
    """Each part takes a sheet, so that no offcut is left."""
    job = make_job(**others)
    make_part(job, ply, length="95", width="47", quantity=quantity)
    return job


def receive(job, by, price, freight="0", count=None):
    line = BuyLine.objects.get(job=job, state="open")
    buying.receive(
        arrived=[buying.Arrived(line, count or line.quantity, Decimal(price))],
        supplier=make_supplier(),
        number="1",
        date=date(2026, 11, 20),
        by=by,
        freight=Decimal(freight),
    )


def cut_all(job, by):
    for layout in job.plans.accepted().get().layouts.filter(state="to cut"):
        making.cut_layout(layout=layout, left=[], by=by)


def reasons_of(job):
    (row,) = costing.job_cost(Job.objects.get(pk=job.pk)).differences
    assert sum((amount for _, amount in row.reasons), NOTHING) == row.difference
    return dict(row.reasons)


def test_an_estimate_names_every_assumption(by, ply):
    rack = make_sheet(by=by, material=ply, price="80.00")
    job = whole_sheet_job(ply, quantity=2)
    hinges = make_material("hinge", kind="goods")
    put_in_goods(material=hinges, quantity=Decimal(4), value=Decimal("10.00"), by=by)
    cataloguing.add_offer(
        material=hinges, supplier=make_supplier(), price=Decimal("3.00"), seen_on=date(2026, 11, 1)
    )
    GoodsWanted.objects.create(job=job, material=hinges, quantity=6)
    holding.accept(plan=planned(job, by), by=by)
    job.refresh_from_db()
    assert [(line.sort, line.amount, line.note) for line in job.estimate_lines.order_by("sort")] == [
        ("buy", 92, "as Counter asks"),
        ("goods", 16, "4 from the shelf, the rest to buy"),
        ("rack", 80, rack.code),
    ]
    assert job.estimate == 188


def test_a_quoted_estimate_stays_whatever_is_planned_after(by, ply):
    job = whole_sheet_job(ply)
    planned(job, by)
    assert estimating.quote(job) == 92
    ply.offers.update(price=Decimal("99.00"))
    holding.accept(plan=planned(job, by), by=by)
    job.refresh_from_db()
    assert (job.estimate, job.state) == (92, Job.State.MAKING)
    assert costing.job_cost(job).difference == 7


def test_until_it_is_quoted_or_begun_an_estimate_follows_the_plan(by, ply):
    job = whole_sheet_job(ply)
    holding.accept(plan=planned(job, by), by=by)
    make_part(job, ply, name="back", length="95", width="47")
    holding.accept(plan=planned(job, by), by=by)
    job.refresh_from_db()
    assert job.estimate == 184


def test_there_is_nothing_to_quote_without_a_plan_or_goods(by):
    with pytest.raises(Refused, match="nothing to quote"):
        estimating.quote(make_job())


def test_what_was_paid_more_is_the_price(by, ply):
    job = whole_sheet_job(ply, quantity=2)
    holding.accept(plan=planned(job, by), by=by)
    receive(job, by, "95.00", freight="5.00")
    assert reasons_of(job) == {"price": Decimal("11.00")}
    cut_all(job, by)
    assert reasons_of(job) == {"price": Decimal("11.00")}
    cost = costing.job_cost(Job.objects.get(pk=job.pk))
    assert (cost.actual, cost.to_come, cost.difference) == (195, 0, 11)


def test_another_piece_that_was_pulled_is_named(by, ply):
    wanted = make_sheet(by=by, material=ply, price="80.00")
    job = whole_sheet_job(ply)
    holding.accept(plan=planned(job, by), by=by)
    other = make_sheet(by=by, material=ply, price="91.50")
    holding.give_up_plan(job=job, by=by)
    making.cut_free(piece=other, taken=[(1, inches(95), inches(47))], left=[], by=by, job=job)
    ((words, amount),) = reasons_of(job).items()
    assert amount == Decimal("11.50")
    assert wanted.code[:3] in words
    assert other.code[:3] in words


def test_spoiled_parts_take_their_share_by_area(by, ply):
    job = whole_sheet_job(ply)
    make_sheet(by=by, material=ply, price="80.00")
    holding.accept(plan=planned(job, by), by=by)
    cut_all(job, by)
    making.spoil(part=job.parts.get(), count=1, by=by)
    make_sheet(by=by, material=ply, price="80.00")
    holding.accept(plan=planned(job, by), by=by)
    cut_all(job, by)
    assert reasons_of(job) == {"1 part spoiled": Decimal("80.00")}


def test_more_used_than_estimated_is_quantity(by, ply):
    make_sheet(by=by, material=ply, price="80.00")
    job = whole_sheet_job(ply)
    holding.accept(plan=planned(job, by), by=by)
    cut_all(job, by)
    more = make_sheet(by=by, material=ply, price="70.00")
    making.cut_free(piece=more, taken=[(1, inches(95), inches(47))], left=[], by=by, job=job)
    assert reasons_of(job) == {"more used than estimated": Decimal("70.00")}


def test_goods_differ_by_price_and_by_quantity(by):
    job, hinges = make_job(), make_material("hinge", kind="goods")
    put_in_goods(material=hinges, quantity=Decimal(4), value=Decimal("10.00"), by=by)
    GoodsWanted.objects.create(job=job, material=hinges, quantity=4)
    estimating.quote(job)
    goods.issue(material=hinges, quantity=Decimal(4), by=by)  # somebody else took them
    put_in_goods(material=hinges, quantity=Decimal(6), value=Decimal("18.00"), by=by)
    making.issue_goods(job=job, material=hinges, quantity=Decimal(5), by=by)
    assert reasons_of(job) == {"price": Decimal("2.00"), "more used than estimated": Decimal("3.00")}


def test_what_is_still_to_come_is_part_of_the_answer(by, ply):
    job = whole_sheet_job(ply, quantity=2)
    make_sheet(by=by, material=ply, price="80.00")
    holding.accept(plan=planned(job, by), by=by)
    cost = costing.job_cost(job)
    (row,) = cost.differences
    assert (row.estimate, row.actual, row.to_come, row.difference) == (172, 0, 172, 0)
    assert cost.to_come == row.to_come
    making.cut_layout(layout=job.plans.get().layouts.exclude(piece=None).get(), left=[], by=by)
    (row,) = costing.job_cost(job).differences
    assert (row.actual, row.to_come, row.reasons) == (80, 92, [])


def test_offcuts_that_give_back_less_are_told(by, ply):
    job = make_job()
    make_part(job, ply, length="40", width="47")
    make_sheet(by=by, material=ply, price="80.00")
    holding.accept(plan=planned(job, by), by=by)
    back = -estimating.total_of(job.estimate_lines.filter(sort="back"))
    assert back > 0
    cut_all(job, by)  # everything else went to the bin
    assert reasons_of(job) == {"offcuts give back other than estimated": back}
    assert not Piece.objects.in_rack().exists()


def test_what_was_charged_before_stands_as_it_was(by, ply):
    job = make_job()
    make_part(job, ply, length="40", width="47", quantity=2)
    for _ in range(2):
        make_sheet(by=by, material=ply, price="80.00")
    holding.accept(plan=planned(job, by), by=by)
    cut_all(job, by)
    make_part(job, ply, name="shelf", length="95", width="47")
    plan = planned(job, by)
    estimating.freeze_anew(job)
    holding.accept(plan=plan, by=by)
    (row,) = costing.job_cost(Job.objects.get(pk=job.pk)).differences
    assert row.sum_of("charged") == row.actual > 0
    assert (row.difference, row.reasons) == (0, [])


def test_goods_on_the_buy_list_are_estimated_too(by):
    job, hinges = make_job(), make_material("hinge", kind="goods")
    GoodsWanted.objects.create(job=job, material=make_material(kind="goods"), quantity=1)
    buying.want(job=job, material=hinges, quantity=Decimal(4), price=Decimal("2.50"))
    assert estimating.quote(job) == 10
    assert costing.job_cost(job).to_come == 10


def test_what_nobody_estimated_is_said_to_be_so(by, ply):
    make_sheet(by=by, material=ply, price="80.00")
    job, hinges = whole_sheet_job(ply), make_material("hinge", kind="goods")
    holding.accept(plan=planned(job, by), by=by)
    put_in_goods(material=hinges, quantity=Decimal(4), value=Decimal("10.00"), by=by)
    making.issue_goods(job=job, material=hinges, quantity=Decimal(2), by=by)
    rows = costing.job_cost(Job.objects.get(pk=job.pk)).differences
    assert [row.reasons for row in rows] == [[("not in the estimate", Decimal("5.00"))], []]
