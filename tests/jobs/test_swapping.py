"""In a round for a job another piece than the plan's is at hand: its layout is cut from that one."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import handling
from inventory.models import Flaw, Movement
from jobs import holding, layouts, making, swapping
from jobs.expecting import given_back
from jobs.models import Hold, Layout, LayoutPart, Plan
from jobs.rack_list import Rack, problem_for
from jobs.sawlist import SawList
from shared.codes import grouped
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from shared.shop import the_shop
from tests.factories import make_job, make_material, make_offcut, make_part, make_sheet
from tests.outside.check_plan import Checker

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(owner, ply):
    return make_sheet(by=owner, material=ply, price="92.00")


STRIP = {
    "size": "12",
    "cut": "crosscut",
    "of": [{"size": "40", "part": ""}, {"size": "40", "part": ""}, {"size": "15 3/4", "offcut": True}],
}


@pytest.fixture
def plan(owner, job, ply, sheet):
    """An accepted plan of four shelves from the one sheet on the rack: 96 × 48, a kerf of 1/8, nothing trimmed."""
    shop = the_shop()
    Shop.objects.update(trim=0, kerf=inches("1/8"), keep_length=inches(12), keep_width=inches(4))
    part = make_part(job, ply, name="shelf", length="40", width="12", quantity=4)
    shop.refresh_from_db()
    todo = SawList(parts=[part])
    problem = problem_for(shop, todo, Rack({sheet.code: [sheet]}, {}))
    strip = STRIP | {"of": [one | {"part": f"p{part.pk}"} if "part" in one else one for one in STRIP["of"]]}
    made = Plan.objects.create(
        job=job, state=Plan.State.ACCEPTED, asked_by=owner, problem=problem, rack_used=Decimal("92.00")
    )
    tree = {"cut": "rip", "of": [strip, strip, {"size": "23 3/4", "offcut": True}]}
    size = {"length": sheet.length, "width": sheet.width, "price": sheet.value}
    row = Layout.objects.create(
        plan=made, position=1, stock_id=sheet.code, piece=sheet, material=ply, tree=tree, **size
    )
    LayoutPart.objects.create(layout=row, part=part, count=4)
    made.kept = given_back(made, [row])
    made.save()
    holding.hold(piece=sheet, job=job, by=owner)
    return made


@pytest.fixture
def layout(plan, sheet):
    (found,) = plan.layouts.all()
    assert found.piece == sheet
    return found


def offcuts_of(layout):
    drawn = layouts.read(layout, layout.plan, {})
    return sorted((one.length * one.width for one in layouts.offcuts(drawn)), reverse=True)


def is_sound(plan):
    """Checked by the one that shares no code with the project, on the plan as it stands."""
    rows = [{"stock": one.stock_id, "count": 1, "tree": one.tree} for one in plan.layouts.all()]
    figures = {"bought": str(plan.bought), "rack_used": str(plan.rack_used)}
    checker = Checker(plan.problem, {"layouts": rows, "figures": figures})
    assert checker.run(), checker.faults
    return True


def test_a_sheet_of_the_same_size_is_as_good(owner, ply, layout, sheet, job):
    other = make_sheet(by=owner, material=ply, price="80.00")
    swapped = swapping.swap(layout=layout, piece=other, by=owner)
    assert (swapped.piece, swapped.tree) == (other, layout.tree)
    assert Hold.objects.get().piece == other
    plan = Plan.objects.get()
    assert plan.rack_used == Decimal("80.00")
    assert is_sound(plan)


def test_a_larger_piece_leaves_a_larger_offcut(owner, ply, layout):
    larger = make_offcut(by=owner, material=ply, length="120", width="60")
    before = offcuts_of(layout)
    swapping.swap(layout=layout, piece=larger, by=owner)
    after = offcuts_of(Layout.objects.get())
    assert after[0] > before[0]
    assert sum(after) > sum(before)
    assert is_sound(Plan.objects.get())


def test_an_offcut_that_lacks_only_what_would_be_left_serves_too(owner, ply, layout):
    small = make_offcut(by=owner, material=ply, length="84", width="30")
    swapping.swap(layout=layout, piece=small, by=owner)
    assert is_sound(Plan.objects.get())


def test_it_is_cut_as_any_other(owner, ply, layout, job):
    larger = make_offcut(by=owner, material=ply, length="120", width="60")
    swapped = swapping.swap(layout=layout, piece=larger, by=owner)
    handling.pull(piece=larger, by=owner, job_number=job.number)
    making.cut_layout(layout=swapped, left=[], by=owner)
    assert job.parts.get().cut == 4
    assert not Hold.objects.exists()


def test_swapped_back_all_is_as_it_was(owner, ply, layout, sheet):
    larger = make_offcut(by=owner, material=ply, length="120", width="60")
    swapped = swapping.swap(layout=layout, piece=larger, by=owner)
    back = swapping.swap(layout=swapped, piece=sheet, by=owner)
    assert (back.tree, back.length, back.price) == (layout.tree, layout.length, layout.price)
    assert Hold.objects.get().piece == sheet
    plan = Plan.objects.get()
    assert (plan.rack_used, plan.kept) == (layout.plan.rack_used, layout.plan.kept)


def test_the_same_tap_sent_twice_counts_once(owner, ply, layout):
    other = make_sheet(by=owner, material=ply)
    for _ in range(2):
        swapping.swap(layout=layout, piece=other, by=owner, key="k")
    assert Layout.objects.get().piece == other
    assert Movement.objects.filter(verb="hold", piece=other).count() == 1


def too_small(owner, ply):
    return make_offcut(by=owner, material=ply, length="39", width="30")


def of_another_wood(owner, ply):
    return make_sheet(by=owner, material=make_material("birch ply 1/2"))


def held_for_another(owner, ply):
    piece = make_sheet(by=owner, material=ply)
    holding.hold(piece=piece, job=make_job("Bench", number="26-099"), by=owner)
    return piece


def scrapped(owner, ply):
    piece = make_sheet(by=owner, material=ply)
    handling.scrap(piece=piece, by=owner)
    return piece


def with_a_flaw_everywhere(owner, ply):
    piece = make_sheet(by=owner, material=ply)
    Flaw.objects.create(piece=piece, x=inches(1), y=inches(1), length=inches(90), width=inches(46))
    return piece


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (too_small, "can't be sawn from it"),
        (of_another_wood, "this layout is cut from maple ply 3/4"),
        (held_for_another, "held for 26-099 Bench"),
        (scrapped, "scrapped"),
        (with_a_flaw_everywhere, "can't be sawn from it"),
    ],
)
def test_what_will_not_do_is_refused_with_why_and_nothing_moves(owner, ply, layout, sheet, make, why):
    piece = make(owner, ply)
    with pytest.raises(Refused, match=why):
        swapping.swap(layout=layout, piece=piece, by=owner)
    assert Layout.objects.get().piece == sheet
    assert Hold.objects.filter(piece=sheet).exists()


def test_what_is_pulled_already_is_put_back_first(owner, ply, layout, sheet, job):
    other = make_sheet(by=owner, material=ply)
    handling.pull(piece=sheet, by=owner, job_number=job.number)
    with pytest.raises(Refused, match="Put it back first"):
        swapping.swap(layout=layout, piece=other, by=owner)


def test_a_sheet_that_was_bought_for_it_becomes_stock(owner, ply, layout, sheet):
    """Its price was counted as bought; the other's value is taken from the rack."""
    Layout.objects.update(offer=ply.offers.get())
    Plan.objects.update(bought=Decimal("92.00"), rack_used=0)
    other = make_sheet(by=owner, material=ply, price="80.00")
    swapping.swap(layout=layout, piece=other, by=owner)
    plan = Plan.objects.get()
    assert (plan.bought, plan.rack_used) == (0, Decimal("80.00"))


# ---- on the scan page ---------------------------------------------------------------------------------------


def card(desk, piece, job):
    return desk.get(reverse("scan-part"), {"code": piece.code, "job": job.number}).content.decode()


def test_the_card_of_a_wrong_piece_that_would_do_offers_it(desk, owner, ply, layout, job, sheet, post):
    other = make_sheet(by=owner, material=ply)
    page = card(desk, other, job)
    assert "Not this one" in page
    assert "Use it instead of" in page
    post("cut-from", job.number, layout.pk, other.code)
    assert "Not this one" not in card(desk, other, job)
    assert "Use it instead of" in card(desk, sheet, job)


def test_one_that_would_not_do_is_not_offered(desk, owner, ply, layout, job):
    assert "Use it instead of" not in card(desk, too_small(owner, ply), job)
    assert "Use it instead of" not in card(desk, held_for_another(owner, ply), job)


def test_a_phone_is_told_what_came_of_it(desk, owner, ply, layout, job, sheet):
    other = make_sheet(by=owner, material=ply)
    address = reverse("cut-from", args=[job.number, layout.pk, other.code])
    said = desk.post(address, {"key": "k"}, headers={"Accept": "application/json"}).json()
    assert said["ok"]
    assert f"{grouped(other.code)} is for 26-041 now, and {grouped(sheet.code)} is free" in said["sentence"]
    said = desk.post(address, {"key": "k2"}, headers={"Accept": "application/json"}).json()
    assert not said["ok"]


def test_it_asks_no_more_often_of_a_plan_of_many_layouts(desk, owner, ply, plan, job):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            card(desk, other, job)
        return len(queries)

    other = too_small(owner, ply)
    at_one = asked()
    (layout,) = plan.layouts.all()
    for position in range(2, 12):
        piece = make_sheet(by=owner, material=ply)
        holding.hold(piece=piece, job=job, by=owner)
        layout.pk, layout.piece, layout.position = None, piece, position
        layout.save(force_insert=True)
    assert asked() == at_one


def test_another_jobs_layout_is_not_found(desk, owner, ply, layout, post):
    other = make_sheet(by=owner, material=ply)
    assert (
        post("cut-from", make_job("Bench", number="26-099").number, layout.pk, other.code).status_code == 404
    )


def test_who_is_not_signed_in_swaps_nothing(client, owner, ply, layout, job):
    other = make_sheet(by=owner, material=ply)
    client.post(reverse("cut-from", args=[job.number, layout.pk, other.code]))
    assert Layout.objects.get().piece != other


def test_it_is_only_sent(desk, layout, job, sheet):
    assert desk.get(reverse("cut-from", args=[job.number, layout.pk, sheet.code])).status_code == 405
