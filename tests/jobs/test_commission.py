"""A whole commission in one plan: a plywood case, its faced edges, legs out of 8/4, fronts as one blank glued
up from staves; planned, checked by the outside checker, cut and costed."""

from datetime import date
from decimal import Decimal

import pypdfium2
import pytest

from inventory import putting_in, receiving
from inventory.models import Offer, Piece, State
from inventory.sawing import LeftOver
from jobs import (
    auditing,
    buying,
    costing,
    gluing,
    gluing_up,
    holding,
    layouts,
    making,
    planning,
    printing,
    showing,
    showing_solid,
    undoing,
)
from jobs.models import Blank, Layout, MatchSet, Part, Plan
from jobs.partslist.saving import PartLine, change_part, save_parts
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from shared.shop import the_shop
from tests.factories import make_job, make_material, make_offcut, make_person, make_sheets, make_supplier
from tests.outside.check_plan import Checker

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner():
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "planning_seconds": 2})
    return make_person()


def boards(material, sizes, by):
    receipt = receiving.receive(
        supplier=make_supplier(),
        number=f"B{material.pk}",
        date=date(2026, 11, 3),
        lines=[
            receiving.BoardLine(
                material, tuple((inches(width), inches(length)) for width, length in sizes), Decimal("7.40")
            )
        ],
        by=by,
    )
    return list(Piece.objects.filter(receipt_line__receipt=receipt))


@pytest.fixture
def maple(owner):
    """The rack: maple plywood to buy and on the rack, hard maple 4/4 and 8/4 boards."""
    ply = make_material("maple plywood 3/4", species=None)
    Offer.objects.create(
        material=ply,
        supplier=make_supplier(),
        length=inches(96),
        width=inches(48),
        price=Decimal("98.00"),
        per=Offer.Per.SHEET,
        seen_on=date(2026, 11, 1),
    )
    make_sheets(2, by=owner, material=ply)
    thin = make_material("hard maple 4/4", "lumber", thickness_text="4/4", thickness=inches(1))
    thick = make_material("hard maple 8/4", "lumber", thickness_text="8/4", thickness=inches(2))
    boards(thin, [("6 1/4", "97"), ("7 1/2", "120"), ("5 1/2", "98"), ("8", "97")], owner)
    boards(thick, [("6", "73"), ("7 1/2", "74"), ("5 1/4", "97")], owner)
    return {"ply": ply, "thin": thin, "thick": thick}


def line(quantity, name, length, width, material, **others):
    return PartLine(quantity, name, inches(length), inches(width), material, **others)


@pytest.fixture
def job(maple):
    made = make_job("Sideboard")
    MatchSet.objects.create(job=made, name="fronts", may_be_glued=True)
    ply, thin, thick = maple["ply"], maple["thin"], maple["thick"]
    save_parts(
        job=made,
        lines=[
            line(2, "side", "30", "17 1/2", ply, edging="2 long, 1/4 hard maple"),
            line(1, "top", "48", "18", ply, edging="front and both ends, hard maple"),
            line(2, "shelf", "46", "16", ply, edging="front hard maple"),
            line(4, "leg", "8", "2", thick),
            line(2, "rail", "44", "2 1/2", thick),
            line(4, "front", "15 1/2", "14", thin, match_set="fronts"),
        ],
    )
    return made


def planned(job, by) -> Plan:
    plan = Plan.objects.create(job=job, asked_by=by)
    planning.work_out(plan)
    plan.refresh_from_db()
    assert plan.state == Plan.State.READY, plan.error
    return plan


def checked(plan) -> Checker:
    checker = Checker(plan.problem, plan.answer)
    checker.run()
    assert checker.faults == []
    return checker


def cut_all(plan, by):
    for layout in plan.layouts.select_related("piece", "plan"):
        drawn = layouts.read(layout, layout.plan, {})
        left = [LeftOver(one.length, one.width) for one in layouts.offcuts(drawn)]
        making.pull(piece=layout.piece, by=by)
        making.cut_layout(layout=layout, left=left, by=by)


def test_a_commission_is_planned_checked_cut_and_costed(owner, job):
    plan = planned(job, owner)
    checked(plan)
    assert plan.answer["unplaced"] == []
    blank = Blank.objects.get(plan=plan)
    assert (blank.length, blank.width) == (4 * inches("15 1/2") + 3 * inches("1/8"), inches(14))
    staves = [stave.width for stave in blank.staves.all() for _ in range(stave.quantity)]
    assert sum(staves) == gluing.to_glue(blank.width, len(staves), gluing_up.rules_of(the_shop()))
    holding.accept(plan=plan, by=owner)
    assert showing_solid.blanks_of(plan, the_shop(), only_finished=True) == []
    cut_all(plan, owner)
    listed = job.parts.listed()
    assert [part.cut for part in listed] == [part.quantity for part in listed]
    assert [one.name for one in showing_solid.blanks_of(plan, the_shop(), only_finished=True)] == ["fronts"]
    cost = costing.job_cost(job)
    in_rack = sum(piece.value for piece in Piece.objects.filter(kind="offcut", state=State.ON_RACK))
    gone = sum((layout.price for layout in plan.layouts.all()), Decimal(0))
    assert cost.actual == gone - in_rack
    assert auditing.faults() == []


def test_the_plan_counts_the_parts_of_the_list_and_no_strips_or_staves(owner, job, maple):
    for length in ("34", "47"):
        make_offcut(by=owner, material=maple["ply"], length=length, width="19")
    shown = showing.plan(planned(job, owner), the_shop(), with_prices=True)
    sawn = {name for one in shown.layouts if one.piece.kind == "offcut" for name in one.gives.split(", ")}
    count, _, wanted = shown.figures[0].value.partition(" of ")
    assert (int(count), int(wanted)) == (len(sawn), 15)  # 2 sides, top, 2 shelves, 4 legs, 2 rails, 4 fronts
    assert int(count) == 2


def test_a_panel_whose_staves_all_come_from_offcuts_comes_from_offcuts(owner, maple):
    for _ in range(3):
        make_offcut(by=owner, material=maple["thin"], length="32", width="5")
    made = make_job()
    save_parts(job=made, lines=[line(1, "top", "30", "13", maple["thin"], may_be_glued=True)])
    shown = showing.plan(planned(made, owner), the_shop(), with_prices=True)
    assert shown.figures[0].value == "1 of 1"


def test_a_sides_strips_come_off_its_listed_size_and_are_sawn_from_boards(owner, job):
    side = job.parts.listed().get(name="side")
    plan = planned(job, owner)
    row = next(row for row in plan.problem["parts"] if row["id"] == f"p{side.pk}")
    assert (row["length"], row["width"]) == ("30", "17")
    (strip,) = side.strips.all()
    assert (strip.quantity, strip.length, strip.width) == (4, inches(30), inches("1/4"))
    sawn = next(row for row in plan.problem["parts"] if row["id"] == f"p{strip.pk}")
    assert (sawn["length"], sawn["width"], sawn["material"]) == ("31", "1/4", "hard maple 4/4 (lumber)")


def test_the_fronts_are_cut_when_the_last_stave_is_and_not_any_more_when_a_cut_is_undone(owner, job):
    plan = planned(job, owner)
    holding.accept(plan=plan, by=owner)
    cut_all(plan, owner)
    front = job.parts.listed().get(name="front")
    assert front.cut == 4
    layout = Layout.objects.filter(plan=plan, parts__part__kind=Part.Kind.STAVE).first()
    undoing.undo(movement=layout.movement, by=owner)
    front.refresh_from_db()
    assert front.cut == 0


def test_staves_of_a_blank_that_was_begun_are_finished_by_the_next_plan(owner, job):
    plan = planned(job, owner)
    holding.accept(plan=plan, by=owner)
    blank = plan.blanks.get()
    stave = blank.staves.first()
    Part.objects.filter(pk=stave.pk).update(cut=1)
    again = planned(job, owner)
    assert not again.blanks.exists()
    left = sum(part.still_to_cut for part in blank.staves.all())
    rows = {row["id"]: row["quantity"] for row in again.problem["parts"]}
    assert sum(rows.get(f"p{part.pk}", 0) for part in blank.staves.all()) == left


def test_another_size_of_a_front_puts_the_plan_out_of_date(owner, job, maple):
    plan = planned(job, owner)
    assert planning.why_out_of_date(plan) == []
    front = job.parts.listed().get(name="front")
    change_part(part=front, line=line(4, "front", "15", "14", maple["thin"], match_set="fronts"))
    assert planning.why_out_of_date(plan) == ["The parts list has changed since."]


def test_matched_fronts_of_plywood_are_cut_as_one_blank_from_one_sheet(owner, maple):
    job = make_job("Chest")
    save_parts(job=job, lines=[line(3, "front", "16", "6", maple["ply"], match_set="run")])
    plan = planned(job, owner)
    checked(plan)
    (layout,) = plan.layouts.all()
    drawn = layouts.read(layout, plan, {})
    fronts = [one for one in drawn.placed() if one.kind == "part"]
    assert [one.x - fronts[0].x for one in fronts] == [n * (inches(16) + inches("1/8")) for n in range(3)]
    assert layout.parts.get().count == 3
    holding.accept(plan=plan, by=owner)
    cut_all(plan, owner)
    assert job.parts.get().cut == 3


def test_boards_are_crosscut_first_whatever_sheets_are(owner, job):
    Shop.objects.filter(pk=1).update(first_cut="rip")
    plan = planned(job, owner)
    checked(plan)
    firsts = {}
    for layout in plan.layouts.all():
        if "cut" in layout.tree:
            firsts.setdefault(layout.material.is_lumber, set()).add(layout.tree["cut"])
    assert firsts == {True: {"crosscut"}, False: {"rip"}}


def test_the_plan_page_says_what_is_sawn_why_and_how_the_blank_is_glued_up(owner, job, client):
    plan = planned(job, owner)
    client.force_login(owner)
    page = client.get(f"/jobs/{job.number}/plan").content.decode()
    assert "edging on 2 long edges" in page
    assert "Glued up in this order" in page
    assert "growth rings" in page
    assert plan.blanks.get().name in page
    assert client.get(f"/jobs/{job.number}/plan.pdf").status_code == 200
    assert client.get(f"/jobs/{job.number}/saw").status_code == 200


def test_a_blank_larger_than_every_sheet_is_named_with_what_would_do(owner, maple, client):
    job = make_job("Long run")
    save_parts(job=job, lines=[line(7, "front", "16", "6", maple["ply"], match_set="run")])
    plan = planned(job, owner)
    checked(plan)
    client.force_login(owner)
    page = client.get(f"/jobs/{job.number}/plan").content.decode()
    assert "set run" in page
    assert "another match set" in page


def test_a_panel_wider_than_any_board_asks_to_be_glued_up(owner, maple, client):
    job = make_job("Lid")
    save_parts(job=job, lines=[line(1, "lid", "30", "14", maple["thin"])])
    planned(job, owner)
    client.force_login(owner)
    assert (
        "be glued up from staves, or buy a wider board"
        in client.get(f"/jobs/{job.number}/plan").content.decode()
    )
    lid = job.parts.get()
    change_part(part=lid, line=line(1, "lid", "30", "14", maple["thin"], may_be_glued=True))
    plan = planned(job, owner)
    checked(plan)
    assert plan.answer["unplaced"] == []
    holding.accept(plan=plan, by=owner)
    cut_all(plan, owner)
    lid.refresh_from_db()
    assert lid.cut == 1


def test_lumber_no_board_gives_is_asked_for_in_the_yards_words(owner):
    cherry = make_material("cherry 4/4", "lumber", thickness_text="4/4", thickness=inches(1))
    job = make_job("Shelf")
    save_parts(job=job, lines=[line(2, "shelf", "94", "6 1/2", cherry)])
    plan = planned(job, owner)
    holding.accept(plan=plan, by=owner)
    bought = job.buy_lines.get()
    # 2 × 95 × 6 3/4 × 1 in are 8.906 board feet, 10.688 with 20 % on it
    assert bought.quantity == Decimal("10.688")
    assert bought.note.endswith("two boards at least 7 in wide and 8 ft long")


def test_rolled_edging_is_bought_by_the_running_foot_less_what_is_there(owner, maple):
    roll = make_material("iron-on maple 7/8", "goods", unit="foot", is_counted_whole=False)
    putting_in.put_in_goods(material=roll, quantity=Decimal(3), by=owner)
    job = make_job("Carcass")
    save_parts(job=job, lines=[line(2, "side", "35", "15", maple["ply"], edging="front iron-on")])
    plan = planned(job, owner)
    assert plan.problem["parts"][0]["length"] == "35"
    holding.accept(plan=plan, by=owner)
    again = planned(job, owner)
    holding.accept(plan=again, by=owner)
    # 2 × (35 + 1) in are 6 ft, 3 of which are there
    assert [(one.quantity, one.unit) for one in job.buy_lines.open()] == [(Decimal(3), "foot")]


def test_a_part_smaller_than_its_strips_is_refused_with_what_would_do(owner, maple):
    job = make_job("Ledge")
    save_parts(job=job, lines=[line(1, "ledge", "30", "1/2", maple["ply"], edging="2 long, hard maple")])
    with pytest.raises(Refused, match=r"smaller than its 1/4 in strips\. Face fewer edges"):
        planning.ask_for_plan(job=job, by=owner)


def test_a_match_set_of_two_materials_is_refused_with_what_would_do(owner, maple):
    job = make_job("Mixed")
    lines = [
        line(1, "a", "16", "6", maple["ply"], match_set="x"),
        line(1, "b", "16", "6", maple["thin"], match_set="x"),
    ]
    save_parts(job=job, lines=lines)
    with pytest.raises(Refused, match="Give all of them one material"):
        planning.ask_for_plan(job=job, by=owner)


def test_boards_that_have_come_are_planned_with_their_real_sizes(owner):
    cherry = make_material("cherry 4/4", "lumber", thickness_text="4/4", thickness=inches(1))
    job = make_job("Shelf")
    save_parts(job=job, lines=[line(2, "shelf", "40", "6 1/2", cherry)])
    holding.accept(plan=planned(job, owner), by=owner)
    buying.receive(
        arrived=[
            buying.Arrived(job.buy_lines.get(), Decimal(1), Decimal("8.20"), ((inches(7), inches(97)),))
        ],
        supplier=make_supplier(),
        number="NY-1",
        date=date(2026, 11, 20),
        by=owner,
    )
    plan = planned(job, owner)
    checked(plan)
    assert plan.answer["unplaced"] == []
    assert [(layout.length, layout.width) for layout in plan.layouts.all()] == [(inches(97), inches(7))]


def test_the_plans_figures_count_the_lumber_that_is_bought(owner, client):
    cherry = make_material("cherry 4/4", "lumber", thickness_text="4/4", thickness=inches(1))
    Offer.objects.create(
        material=cherry,
        supplier=make_supplier(),
        price=Decimal("8.00"),
        per=Offer.Per.BOARD_FOOT,
        seen_on=date(2026, 11, 1),
    )
    job = make_job("Shelf")
    save_parts(job=job, lines=[line(2, "shelf", "94", "6 1/2", cherry)])
    plan = planned(job, owner)
    figures = {
        figure.note: figure.value for figure in showing.plan(plan, the_shop(), with_prices=True).figures
    }
    assert figures["to buy: cherry 4/4"] == "10.7 board feet"
    assert figures["material"] == "$85.50"  # 10.688 × 8.00
    holding.accept(plan=plan, by=owner)
    job.refresh_from_db()
    assert job.estimate == Decimal("85.50")


def test_the_print_draws_the_blank_and_says_the_least_boards(owner, job):
    plan = planned(job, owner)
    data = printing.plan_pdf(plan, the_shop(), page="letter", with_prices=True)
    document = pypdfium2.PdfDocument(data)
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    assert "Blank fronts" in text
    assert "growth rings" in text
