"""What has to be chosen before a plan is solved is chosen again where that leaves parts over: staves from what
other parts leave, and parts that may be of sheet goods or of lumber."""

import random
from datetime import date
from decimal import Decimal
from itertools import count

import pytest

from inventory import flaws as marking
from inventory.models import Offer
from inventory.putting_in import FlawAt
from jobs import gluing, gluing_up, planning, rounds, showing, showing_solid
from jobs.models import Part, Plan
from jobs.partslist.saving import PartLine, save_parts
from jobs.rack_list import rack_for
from jobs.rounds import Rounds
from jobs.sawlist import saw_list
from shared.measure import exact_ticks, inches
from shared.shop import the_shop
from tests.factories import make_job, make_material, make_offcut, make_supplier
from tests.jobs.test_commission import boards
from tests.outside.check_plan import Checker


@pytest.fixture
def ash(owner):
    return make_material("ash 4/4", "lumber", thickness_text="4/4", thickness=inches(1))


@pytest.fixture
def birch_ply(owner):
    """Nothing of it is on the rack; a yard sells it."""
    made = make_material("birch ply 3/4")
    sheet = {"length": inches(96), "width": inches(48), "price": Decimal("70.00"), "per": Offer.Per.SHEET}
    Offer.objects.create(material=made, supplier=make_supplier(), seen_on=date(2026, 11, 1), **sheet)
    return made


def line(quantity, name, length, width, material, **others):
    return PartLine(quantity, name, inches(length), inches(width), material, **others)


def worked_out(lines):
    """Tried in as little time as there is: first plans only."""
    job, shop = make_job(), the_shop()
    save_parts(job=job, lines=lines)
    todo = saw_list(job)
    ticking = count(0, 100)
    found = Rounds(todo, rack_for(job, todo.everything), shop, clock=lambda: float(next(ticking))).work_out()
    checker = Checker(found.problem, found.answer)
    checker.run()
    assert checker.faults == []
    return found


def kept(lines, by):
    job = make_job()
    save_parts(job=job, lines=lines)
    plan = Plan.objects.create(job=job, asked_by=by)
    planning.work_out(plan)
    plan.refresh_from_db()
    checker = Checker(plan.problem, plan.answer)
    checker.run()
    assert checker.faults == []
    assert planning.why_out_of_date(plan) == []
    return plan


# ---- staves -----------------------------------------------------------------------------------------------


def panel_and_rail(ash):
    """The long board alone would give the panel, but it is the only one for the rail."""
    return [line(1, "panel", "40", "12", ash, may_be_glued=True), line(1, "rail", "94", "6", ash)]


def test_staves_are_chosen_again_where_another_part_needs_their_board(ash, owner):
    boards(ash, [("8", "97"), ("4 1/2", "50"), ("4 1/2", "50"), ("4 1/2", "50")], owner)
    found = worked_out(panel_and_rail(ash))
    assert found.answer["unplaced"] == []
    (panel,) = found.blanks
    assert len({stave.board for stave in panel.staves}) == 3


def test_what_was_chosen_again_is_kept_with_its_plan(ash, owner):
    boards(ash, [("8", "97"), ("4 1/2", "50"), ("4 1/2", "50"), ("4 1/2", "50")], owner)
    plan = kept(panel_and_rail(ash), owner)
    assert plan.answer["unplaced"] == []
    (panel,) = showing.plan(plan, the_shop(), with_prices=True).blanks
    assert len({stave.where for stave in panel.staves}) == 3
    assert plan.seconds <= the_shop().planning_seconds + 0.5


def test_where_the_wood_does_not_do_for_both_the_rest_is_bought_and_nothing_is_lost(ash, owner):
    boards(ash, [("8", "97")], owner)
    found = worked_out(panel_and_rail(ash))
    wanted = {row["id"]: row["quantity"] for row in found.problem["parts"]}
    over = {row["id"]: row["quantity"] for row in found.answer["unplaced"]}
    assert over
    assert all(wanted[name] >= many for name, many in over.items())


@pytest.mark.parametrize("seed", range(12))
def test_staves_add_up_whatever_else_the_boards_must_give(seed, ash, owner):
    """Panels and rails at random from boards with knots, often more than the rack has: each panel's staves are
    the panel, its trimming and its joints, lie on boards clear of knots or are named as left over."""
    rng = random.Random(seed)
    sizes = [(str(rng.randint(4, 9)), str(rng.randint(40, 120))) for _ in range(rng.randint(3, 9))]
    for board in boards(ash, sizes, owner):
        if rng.random() < 0.5:
            knot = FlawAt(rng.randrange(board.length - inches(2)), 0, inches(2), inches("1 1/2"), "knot")
            marking.mark(piece=board, flaws=[knot])
    lines = [
        *(line(1, f"panel {n}", str(rng.randint(20, 45)), str(rng.randint(10, 24)), ash, may_be_glued=True)
          for n in range(rng.randint(1, 3))),
        *(line(rng.randint(1, 4), f"rail {n}", str(rng.randint(20, 90)), str(rng.randint(2, 5)), ash)
          for n in range(rng.randint(1, 4))),
    ]  # fmt: skip
    found, rules = worked_out(lines), gluing_up.rules_of(the_shop())
    asked = {row["id"]: row for row in found.problem["parts"]}
    for number, blank in enumerate(found.blanks):
        widths = [stave.width for stave in blank.staves]
        if len(widths) > 1:
            assert sum(widths) == gluing.to_glue(blank.width, len(widths), rules)
        rows = [asked[gluing_up.stave_id(number, run)] for run in range(len(blank.alike))]
        assert sum(row["quantity"] for row in rows) == len(widths)
        assert {exact_ticks(row["length"], "in") for row in rows} == {blank.sawn}


def test_a_set_that_may_not_be_glued_up_and_fits_no_board_says_what_would_do(ash, owner):
    boards(ash, [("6", "97")], owner)
    lines = [line(2, "front", "20", "8", ash, match_set="fronts")]
    (over,) = showing.plan(kept(lines, owner), the_shop(), with_prices=True).unplaced
    assert "Let its match set be glued up from staves, or buy a wider board." in over.why


# ---- sheet goods or lumber --------------------------------------------------------------------------------


def cleats(quantity, *materials):
    first, *also = materials
    return [line(quantity, "cleat", "20", "3", first, also=tuple(also))]


def test_a_part_of_ply_or_ash_comes_from_an_ash_board_where_no_ply_is(ash, birch_ply, owner):
    boards(ash, [("4", "97")], owner)
    plan = kept(cleats(4, birch_ply, ash), owner)
    assert (plan.answer["unplaced"], plan.bought) == ([], 0)
    shown = showing.plan(plan, the_shop(), with_prices=True)
    assert [(note.name, note.text) for note in shown.sawn] == [("cleat", "all cut 21 × 3 1/4 from lumber")]
    assert [layout.gives for layout in shown.layouts] == ["4 cleat"]


def test_it_is_sawn_to_size_from_ply_and_rough_from_a_board(ash, owner):
    boards(ash, [("4", "45")], owner)  # gives two
    cherry_ply = make_material("cherry ply 3/4")
    make_offcut(by=owner, material=cherry_ply, length="21", width="4")  # gives one
    found = worked_out(cleats(3, ash, cherry_ply))
    assert found.answer["unplaced"] == []
    sizes = {
        (row["material"], row["length"], row["width"], row["quantity"]) for row in found.problem["parts"]
    }
    assert sizes == {("ash 4/4 (lumber)", "21", "3 1/4", 2), ("cherry ply 3/4", "20", "3", 1)}


def test_what_neither_gives_is_asked_for_of_the_first(ash, owner):
    cherry_ply = make_material("cherry ply 3/4")  # nobody sells it, none is there
    boards(ash, [("4", "45")], owner)
    plan = kept(cleats(5, cherry_ply, ash), owner)
    (over,) = plan.answer["unplaced"]
    part = plan.job.parts.get()
    assert (over["id"], over["quantity"]) == (f"p{part.pk}", 3)
    (missing,) = showing.plan(plan, the_shop(), with_prices=True).unplaced
    assert (missing.name, missing.count, missing.size) == ("cleat", 3, "20 × 3")


def test_a_faced_part_stays_what_it_is(ash, birch_ply, owner):
    boards(ash, [("6", "97")], owner)
    lines = [line(1, "shelf", "20", "4", birch_ply, also=(ash,), edging="front, 1/4 ash")]
    found = worked_out(lines)
    shelf = next(row for row in found.problem["parts"] if row["width"] == "3 3/4")
    assert shelf["material"] == "birch ply 3/4"
    part = found.todo.parts[0]
    assert showing_solid.one_kind_note(part) == "not cut from ash 4/4: its edges are faced"


# ---- a list that changes meanwhile ------------------------------------------------------------------------


def planned_while(monkeypatch, ash, owner, change):
    """A plan during whose solving somebody changes its list."""
    boards(ash, [("8", "97"), ("6", "97")], owner)
    job = make_job()
    (_, rail) = save_parts(job=job, lines=panel_and_rail(ash))
    solved = rounds.solve_apart

    def solve(*args, **options):
        change(rail)
        return solved(*args, **options)

    monkeypatch.setattr(rounds, "solve_apart", solve)
    plan = Plan.objects.create(job=job, asked_by=owner)
    planning.work_out(plan)
    plan.refresh_from_db()
    return plan


def test_a_plan_whose_list_was_changed_meanwhile_is_out_of_date(ash, owner, monkeypatch):
    def shorter(rail):
        Part.objects.filter(pk=rail.pk).update(length=inches(80))

    plan = planned_while(monkeypatch, ash, owner, shorter)
    assert plan.state == Plan.State.READY
    assert planning.why_out_of_date(plan) == ["The parts list has changed since."]


def test_a_plan_whose_part_was_taken_off_meanwhile_says_so(ash, owner, monkeypatch):
    def off(rail):
        Part.objects.filter(pk=rail.pk).delete()

    plan = planned_while(monkeypatch, ash, owner, off)
    assert (plan.state, plan.error) == (
        Plan.State.FAILED,
        "Parts were taken off the list meanwhile. Plan again.",
    )
    assert not plan.blanks.exists()
