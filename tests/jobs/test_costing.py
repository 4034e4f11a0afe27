"""What jobs cost: planned, expected and actual agree with the ledger and with figures worked out by hand."""

from contextlib import contextmanager
from datetime import date, datetime
from decimal import Decimal
from itertools import product
from unittest import mock

import pytest
from django.utils import timezone

from inventory.models import Movement, Offer, Piece, Species
from inventory.putting_in import put_in_goods
from inventory.sawing import LeftOver
from jobs import auditing, buying, costing, holding, layouts, making, planning, rack_worth, spending, undoing
from jobs.models import BuyLine, Charge, Client, Plan
from jobs.spending import Asked
from shared.measure import inches
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
from tests.jobs.layouts_of_jobs import accepted_layout

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    return make_person()


@pytest.fixture
def ply():
    """Plywood on offer at 92.00 a sheet of 96 × 48."""
    material = make_material("maple plywood 3/4")
    Offer.objects.create(
        material=material,
        supplier=make_supplier(),
        length=inches(96),
        width=inches(48),
        price=Decimal("92.00"),
        per="sheet",
        seen_on=date(2026, 11, 1),
    )
    return material


def accepted_plan(job, by) -> Plan:
    shop = the_shop()
    shop.planning_seconds = 1
    shop.save(update_fields=["planning_seconds"])
    plan = Plan.objects.create(job=job, asked_by=by)
    planning.work_out(plan)
    plan.refresh_from_db()
    holding.accept(plan=plan, by=by)
    job.refresh_from_db()
    plan.refresh_from_db()
    return plan


def cut_as_planned(plan, by) -> None:
    for layout in plan.layouts.filter(state="to cut").select_related("piece", "plan"):
        left = [LeftOver(one.length, one.width) for one in layouts.offcuts(layouts.read(layout, plan, {}))]
        making.cut_layout(layout=layout, left=left, by=by)


def receive_all(job, by, price: str, **others) -> None:
    arrived = [
        buying.Arrived(line, line.quantity, Decimal(price)) for line in BuyLine.objects.open().filter(job=job)
    ]
    buying.receive(
        arrived=arrived, supplier=make_supplier(), number="77", date=date(2026, 11, 20), by=by, **others
    )


# ---- planned, expected, actual ----------------------------------------------------------------------------


def test_a_waiting_layout_will_charge_its_piece_less_what_its_offcuts_carry_back(owner):
    ply, job = make_material(), make_job()
    sheet = make_sheet(by=owner, material=ply, price="92.00", freight=Decimal("3.00"))
    part = make_part(job, ply, length="30", width="10", quantity=2)
    layout = accepted_layout(sheet, part, owner)
    # One offcut of 12 × 10 of a sheet of 96 × 48: half of 95.00 × 120 / 4608 is 1.237, down to the cent.
    assert costing.job_cost(job).still_to_cut == Decimal("95.00") - Decimal("1.23")
    making.cut_layout(layout=layout, left=[LeftOver(inches(12), inches(10))], by=owner)
    cost = costing.job_cost(job)
    assert (cost.still_to_cut, cost.actual) == (0, Decimal("93.77"))


def test_each_layout_gives_back_its_own_offcuts_and_not_a_share_of_all(owner):
    """A plan's credit was once shared out by what its pieces cost: a sheet all used up seemed to give some back."""
    ply, job = make_material(), make_job()
    whole, half = make_sheet(by=owner, material=ply), make_sheet(by=owner, material=ply, price="10.00")
    used_up = accepted_layout(whole, make_part(job, ply, length="30", width="10"), owner)
    used_up.tree = {"cut": "rip", "of": []}
    used_up.save(update_fields=["tree"])
    accepted_layout(half, make_part(job, ply, length="30", width="10"), owner)
    given_back = Decimal("0.13")  # half of 10.00 × 120 / 4608
    assert costing.job_cost(job).expected == Decimal("102.00") - given_back
    making.cut_layout(layout=used_up, left=[], by=owner)
    assert costing.job_cost(job).expected == Decimal("102.00") - given_back


def test_nothing_bought_or_cut_what_is_expected_is_what_was_planned(owner, ply):
    make_offcut(by=owner, material=ply, length="40", width="20", value="6.00")
    make_sheet(by=owner, material=ply, price="88.88")
    job = make_job()
    make_part(job, ply, length="36", width="18", quantity=1)
    make_part(job, ply, name="shelf", length="44", width="15", quantity=9)
    plan = accepted_plan(job, owner)
    cost = costing.job_cost(job)
    assert plan.bought == Decimal("92.00")
    assert plan.rack_used == Decimal("94.88")
    assert cost.to_buy == plan.bought
    assert cost.actual == 0
    assert cost.planned == cost.expected == plan.material_cost


def test_all_bought_and_cut_as_planned_costs_what_was_planned_to_the_cent(owner, ply):
    make_offcut(by=owner, material=ply, length="40", width="20", value="6.01")
    job = make_job()
    make_part(job, ply, length="36", width="18", quantity=1)
    make_part(job, ply, name="shelf", length="43 21/64", width="13 3/32", quantity=6)
    plan = accepted_plan(job, owner)
    receive_all(job, owner, "92.00")
    cost = costing.job_cost(job)
    assert (cost.to_buy, cost.expected) == (0, plan.material_cost)
    cut_as_planned(plan, owner)
    cost = costing.job_cost(job)
    assert cost.still_to_cut == cost.to_buy == cost.difference == 0
    assert cost.actual == cost.expected == cost.planned


def test_a_dearer_sheet_is_expected_as_soon_as_it_has_come(owner, ply):
    job = make_job()
    make_part(job, ply, length="44", width="15", quantity=4)
    plan = accepted_plan(job, owner)
    receive_all(job, owner, "95.00", freight=Decimal("5.00"))
    expected = costing.job_cost(job).expected
    (layout,) = plan.layouts.select_related("piece")
    kept = sum(
        (Decimal(100) / 2 * (one.length * one.width) / layout.piece.area).quantize(
            Decimal("0.01"), "ROUND_DOWN"
        )
        for one in layouts.offcuts(layouts.read(layout, plan, {}))
    )
    assert expected == Decimal("100.00") - kept
    cut_as_planned(plan, owner)
    assert costing.job_cost(job).actual == expected


def test_part_of_an_order_leaves_the_rest_to_buy(owner, ply):
    job = make_job()
    make_part(job, ply, length="60", width="30", quantity=2)
    plan = accepted_plan(job, owner)
    line = BuyLine.objects.get(job=job)
    assert line.quantity == 2
    buying.receive(
        arrived=[buying.Arrived(line, Decimal(1), Decimal("92.00"))],
        supplier=make_supplier(),
        number="78",
        date=date(2026, 11, 20),
        by=owner,
    )
    cost = costing.job_cost(job)
    assert (cost.to_buy, cost.expected) == (Decimal("92.00"), plan.material_cost)


def test_a_sheet_taken_off_the_buy_list_is_still_needed(owner, ply):
    job = make_job()
    make_part(job, ply, length="60", width="30")
    plan = accepted_plan(job, owner)
    buying.drop(BuyLine.objects.get(job=job))
    cost = costing.job_cost(job)
    assert (cost.to_buy, cost.expected) == (0, plan.material_cost)


def test_lumber_is_expected_on_the_buy_list_and_on_the_rack_before_it_is_planned(owner):
    ash, job = make_material("ash 5/4", kind="lumber"), make_job()
    Offer.objects.create(
        material=ash,
        supplier=make_supplier(),
        price=Decimal("8.00"),
        per="board foot",
        seen_on=date(2026, 11, 1),
    )
    make_part(job, ash, name="leg", length="29", width="2 3/4", quantity=4)
    accepted_plan(job, owner)
    line = BuyLine.objects.get(job=job)
    cost = costing.job_cost(job)
    assert cost.planned == cost.expected == cost.to_buy == line.quantity * Decimal("8.00")
    board = (inches(6), inches(96))
    arrived = [buying.Arrived(line, Decimal(1), Decimal("9.00"), boards=(board, board))]
    buying.receive(arrived=arrived, supplier=make_supplier(), number="79", date=date(2026, 11, 20), by=owner)
    # Two boards of 4 sq ft surface measure, 5/4 thick: 10 board feet on the invoice.
    assert costing.job_cost(job).expected == Decimal("90.00")


def test_what_was_spoiled_and_undone_stays_in_the_books(owner, ply):
    sheet, job = make_sheet(by=owner, material=ply), make_job()
    layout = accepted_layout(sheet, make_part(job, ply, length="30", width="10", quantity=2), owner)
    cut = making.cut_layout(layout=layout, left=[], by=owner)
    making.spoil(part=job.parts.get(), count=1, by=owner)
    assert costing.job_cost(job).actual == Decimal("92.00")
    making.unspoil(job.parts.get().spoilings.get())
    undoing.undo(movement=cut.movement, by=owner)
    cost = costing.job_cost(job)
    assert (cost.actual, [charge.amount for charge in cost.charges]) == (
        0,
        [Decimal("92.00"), Decimal("-92.00")],
    )


def test_a_cost_page_asks_as_often_for_a_large_job_as_for_a_small_one(owner, django_assert_num_queries):
    ply, job = make_material(), make_job()

    def cut_some(count: int) -> None:
        for number in range(count):
            part = make_part(job, ply, name=f"part {number}", length="30", width="10", quantity=2)
            for _ in range(2):
                waiting = accepted_layout(make_sheet(by=owner, material=ply), part, owner)
            making.cut_layout(layout=waiting, left=[LeftOver(inches(12), inches(10))], by=owner)

    cut_some(1)
    shop = the_shop()
    with django_assert_num_queries(7):
        costing.job_cost(job, shop)
    cut_some(5)
    with django_assert_num_queries(7):
        costing.job_cost(job, shop)


# ---- by material ------------------------------------------------------------------------------------------


def test_an_offcut_that_carried_nothing_counts_as_used(owner, ply):
    job = make_job()
    offcut = make_offcut(by=owner, material=ply, length="40", width="20", value="0")
    making.cut_free(piece=offcut, taken=[], left=[LeftOver(inches(20), inches(20))], job=job, by=owner)
    cut = making.cut_free(piece=make_sheet(by=owner, material=ply), taken=[], left=[], job=job, by=owner)
    undoing.undo(movement=cut.movement, by=owner)
    (row,) = costing.job_cost(job).materials
    assert (row.pieces, row.offcuts_used, row.offcuts_left, row.actual) == (1, 1, 1, 0)


def test_plywood_and_lumber_of_one_name_are_two_materials(owner):
    sheet, board = make_material("ash"), make_material("ash", kind="lumber")
    job = make_job()
    making.cut_free(piece=make_sheet(by=owner, material=sheet), taken=[], left=[], job=job, by=owner)
    offcut = make_offcut(by=owner, material=board, value="3.00")
    making.cut_free(piece=offcut, taken=[], left=[], job=job, by=owner)
    assert sorted(row.actual for row in costing.job_cost(job).materials) == [
        Decimal("3.00"),
        Decimal("92.00"),
    ]


# ---- spend ------------------------------------------------------------------------------------------------


@contextmanager
def the_clock_at(day: date):
    then = timezone.make_aware(datetime(day.year, day.month, day.day, 10))
    # A movement's time was tied to the clock when its class was made, so that it is set apart.
    its_time = mock.patch.object(Movement._meta.get_field("at"), "get_default", return_value=then)
    with mock.patch("django.utils.timezone.now", return_value=then), its_time:
        yield


DAYS = [date(2026, 8, 31), date(2026, 9, 1), date(2026, 9, 30), date(2026, 11, 2)]


@pytest.fixture
def history(owner):
    """Two clients' jobs that cut, used goods, gave back and undid, on days at the edges of months."""
    oak = Species.objects.create(name="a wood of ours")
    materials = [make_material(species=oak), make_material(), make_material(kind="goods")]
    put_in_goods(material=materials[2], quantity=Decimal(40), value=Decimal("33.31"), by=owner)
    clients = [Client.objects.create(name=name) for name in ("Hollis", "Orr")]
    jobs = [make_job(client=clients[n % 2]) for n in range(3)]
    for n, (day, job) in enumerate(product(DAYS, jobs)):
        with the_clock_at(day):
            sheet = make_sheet(
                by=owner, material=materials[n % 2], price=f"{50 + n}.37", freight=Decimal("1.01")
            )
            left = [LeftOver(inches(17 + n), inches(23))]
            cut = making.cut_free(piece=sheet, taken=[], left=left, job=job, by=owner)
            making.issue_goods(job=job, material=materials[2], quantity=Decimal(n % 4 + 1), by=owner)
            if n % 3 == 0:
                making.put_goods_back(job=job, material=materials[2], quantity=Decimal(1), by=owner)
            if n % 4 == 1:
                undoing.undo(movement=cut.movement, by=owner)
    return {"clients": clients, "materials": materials, "jobs": jobs}


def taken_for_jobs(first, last, client, material) -> Decimal:
    """The same asked of the ledger, row by row."""
    total = Decimal(0)
    theirs = client and set(client.jobs.values_list("number", flat=True))
    for row in Movement.objects.filter(account="job").select_related("piece", "lot"):
        thing = row.piece or row.lot
        assert thing
        is_in_days = (not first or row.at.date() >= first) and (not last or row.at.date() <= last)
        is_theirs = not client or row.job_number in theirs
        if is_in_days and is_theirs and (not material or thing.material_id == material.pk):
            total -= row.value
    return total


def test_spend_is_the_ledgers_whatever_is_asked(history):
    clients, materials = [None, *history["clients"]], [None, *history["materials"]]
    windows = [(None, None), (DAYS[1], None), (None, DAYS[0]), (DAYS[1], DAYS[2]), (DAYS[3], DAYS[3])]
    for (first, last), client, material, group in product(windows, clients, materials, spending.GROUPS):
        asked = Asked(
            group=group,
            first=first,
            last=last,
            client=str(client.pk) if client else "",
            material=str(material.pk) if material else "",
        )
        found = spending.spend(asked)
        by_hand = taken_for_jobs(first, last, client, material)
        assert found.total == spending.ledger_total(asked) == by_hand
        assert sum(row.amount for row in found.rows) == by_hand
        for row in found.rows:
            assert row.stock + row.goods + row.given_back == row.amount


def test_spend_has_a_row_for_each_of_a_group(history):
    rows = {
        group: len(spending.spend(Asked(group=group)).rows)
        for group in spending.GROUPS
        if group != "supplier"
    }
    assert rows == {"job": 3, "client": 2, "month": 3, "material": 3, "species": 2}


def test_what_jobs_cost_adds_up_to_what_was_spent(history):
    costs = [costing.job_cost(job) for job in history["jobs"]]
    assert sum(cost.actual for cost in costs) == spending.spend(Asked()).total
    for cost in costs:
        assert cost.actual == sum(row.actual for row in cost.materials)


def test_a_charge_that_went_missing_shows_in_the_audit(history):
    assert auditing.faults() == []
    Charge.objects.exclude(amount=0).first().delete()
    assert any("charge" in sentence for sentence in auditing.faults())


def test_what_offcuts_saved_is_their_parts_at_the_price_of_the_cheapest_sheet(owner, ply):
    offcut, job = make_offcut(by=owner, material=ply, length="40", width="20"), make_job()
    layout = accepted_layout(offcut, make_part(job, ply, length="12", width="10", quantity=2), owner)
    making.cut_layout(layout=layout, left=[], by=owner)
    # Two parts of 12 × 10 of a sheet of 96 × 48 at 92.00.
    assert spending.saved(None, None).total == Decimal("4.79")
    assert spending.saved(date(2026, 1, 1), date(2026, 1, 2)).total == 0


def test_the_rack_is_worth_what_its_pieces_and_goods_carry(owner, history):
    rows = [*Piece.objects.all(), *history["materials"][2].lots.all()]
    assert rack_worth.by_age().total == sum(row.value for row in rows)
