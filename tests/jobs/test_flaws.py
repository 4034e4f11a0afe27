"""Flaws marked on a board: kept, refused, and cut around."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory import flaws as marking
from inventory import handling
from inventory.putting_in import FlawAt, put_in
from inventory.sawing import LeftOver
from jobs import holding, layouts, making, planning
from jobs.models import Plan
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from tests.factories import make_job, make_material, make_part, make_person
from tests.outside.check_plan import Checker

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "planning_seconds": 1})
    person = make_person()
    client.force_login(person)
    return person


@pytest.fixture
def board(owner):
    ash = make_material("ash 5/4", "lumber")
    return put_in(material=ash, kind="board", length=inches(96), width=inches(6), by=owner)


def typed(*rows, initial=0):
    sent = {"flaws-TOTAL_FORMS": str(initial + 3), "flaws-INITIAL_FORMS": str(initial)}
    for number, row in enumerate(rows):
        sent |= {f"flaws-{number}-{name}": value for name, value in row.items()}
    return sent


KNOT = {"x": "40", "y": "0", "length": "2 1/2", "width": "1 1/4", "why": "knot"}


def test_a_flaw_is_marked_by_numbers_and_drawn(board, client):
    assert client.post(f"/stock/{board.code}/flaws", typed(KNOT)).status_code == 302
    (flaw,) = board.flaws.all()
    assert (flaw.x, flaw.length, flaw.width, flaw.why) == (
        inches(40),
        inches("2 1/2"),
        inches("1 1/4"),
        "knot",
    )
    assert "1 defect is crossed out" in client.get(f"/stock/{board.code}").content.decode()


def test_a_flaw_ticked_away_is_gone_and_the_other_stays(board, client):
    marking.mark(
        piece=board, flaws=[FlawAt(0, 0, inches(2), inches(1), "split"), FlawAt(inches(40), 0, 10, 10)]
    )
    page = client.get(f"/stock/{board.code}/flaws").content.decode()
    assert "split" in page
    rows = [
        {"x": "0", "y": "0", "length": "2", "width": "1", "why": "split", "DELETE": "on"},
        {"x": "40", "y": "0", "length": "1", "width": "1"},
    ]
    client.post(f"/stock/{board.code}/flaws", typed(*rows, initial=2))
    assert [flaw.x for flaw in board.flaws.all()] == [inches(40)]


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ({**KNOT, "x": "95"}, "not within the piece"),
        ({**KNOT, "width": "wide"}, "is not a length"),
    ],
)
def test_a_flaw_that_will_not_do_comes_back_as_typed(board, client, row, sentence):
    response = client.post(f"/stock/{board.code}/flaws", typed(row))
    assert response.status_code == 422
    assert sentence in response.content.decode()
    assert row["width"] in response.content.decode()
    assert not board.flaws.exists()


def test_who_is_signed_out_marks_nothing(board, client):
    client.logout()
    client.post(f"/stock/{board.code}/flaws", typed(KNOT))
    assert not board.flaws.exists()


def test_what_is_gone_is_not_marked(board, owner):
    handling.scrap(piece=board, by=owner)
    with pytest.raises(Refused, match="only what is in the shop"):
        marking.mark(piece=board, flaws=[])


def test_no_part_lies_over_a_flaw_and_a_flaw_found_later_asks_for_a_new_plan(board, owner):
    marking.mark(piece=board, flaws=[FlawAt(inches(40), 0, inches(2), inches(6))])
    job = make_job()
    make_part(job, board.material, name="rail", length="28", width="5", quantity=2)
    plan = Plan.objects.create(job=job, asked_by=owner)
    planning.work_out(plan)
    checker = Checker(plan.problem, plan.answer)
    checker.run()
    assert checker.faults == []
    assert plan.answer["unplaced"] == []
    (layout,) = plan.layouts.all()
    for one in layouts.read(layout, plan, {}).placed():
        if one.kind == "part":
            assert one.x + one.length <= inches(40) or one.x >= inches(42)
    assert planning.why_out_of_date(plan) == []
    marking.mark(piece=board, flaws=[FlawAt(0, 0, inches(3), inches(6))])
    assert planning.why_out_of_date(plan) == [f"{board} has other flaws now."]


def test_what_is_left_of_a_board_keeps_the_flaws_that_lie_on_it(board, owner):
    marking.mark(piece=board, flaws=[FlawAt(inches(60), 0, inches(2), inches(1), "knot")])
    job = make_job()
    make_part(job, board.material, name="rail", length="28", width="5")
    plan = Plan.objects.create(job=job, asked_by=owner)
    planning.work_out(plan)
    holding.accept(plan=plan, by=owner)
    (layout,) = plan.layouts.all()
    rail = {"size": "5 1/4", "part": plan.problem["parts"][0]["id"]}
    first = {"size": "29", "cut": "rip", "of": [rail, {"size": "5/8", "waste": True}]}
    layout.tree = {"cut": "crosscut", "of": [first, {"size": "66 7/8", "offcut": True}]}
    layout.save()
    (left,) = layouts.offcuts(layouts.read(layout, plan, {}))
    cut = making.cut_layout(layout=layout, left=[LeftOver(left.length, left.width)], by=owner)
    (flaw,) = cut.offcuts[0].flaws.all()
    assert (flaw.x, flaw.y, flaw.length, flaw.why) == (inches(60) - left.x, 0, inches(2), "knot")


KNOT_AT_60 = FlawAt(inches(60), inches(4), inches(2), inches(1), "knot")


@pytest.mark.parametrize(
    ("corner", "flaw_at"),
    [("right-top", inches(14)), ("right-bottom", inches(14)), ("left-top", None), ("", None)],
)
def test_an_offcut_of_a_free_cut_keeps_the_flaws_of_the_corner_it_is(board, client, corner, flaw_at):
    """The right end, 50 in of 96, has the knot 14 in from its own end."""
    marking.mark(piece=board, flaws=[KNOT_AT_60])
    assert "Corner<span" in client.get(f"/stock/{board.code}/cut").content.decode()
    sent = {"left_length_0": "50", "left_width_0": "6", "left_corner_0": corner}
    page = client.post(f"/stock/{board.code}/cut", {"key": "tap-1", **sent}, follow=True)
    (left,) = board.offcuts.all()
    assert [flaw.x for flaw in left.flaws.all()] == ([flaw_at] if flaw_at else [])
    assert ("Mark the flaws on" in page.content.decode()) == (not corner)


def test_which_edge_an_offcut_was_ripped_from_tells_which_flaws_it_has(board, client):
    marking.mark(piece=board, flaws=[KNOT_AT_60])
    rows = [("96", "3", "left-bottom"), ("96", "2 1/2", "left-top")]
    sent = {f"left_{name}_{n}": value for n, row in enumerate(rows)
            for name, value in zip(("length", "width", "corner"), row, strict=True)}  # fmt: skip
    client.post(f"/stock/{board.code}/cut", {"key": "tap-1", **sent})
    assert {one.width: one.flaws.count() for one in board.offcuts.all()} == {inches(3): 1, inches("2 1/2"): 0}


def test_a_clean_piece_is_not_asked_for_corners(board, client):
    assert "Corner<span" not in client.get(f"/stock/{board.code}/cut").content.decode()


@given(*[st.integers(0, 60)] * 4, st.integers(1, 60), st.integers(1, 60))
def test_a_flaw_passed_on_is_what_of_it_lies_on_the_offcut(x, y, left, top, length, width):
    found = marking.within(FlawAt(x, y, 20, 10), left, top, length, width)
    inside = [
        (along, across)
        for along in range(max(x, left), min(x + 20, left + length))
        for across in range(max(y, top), min(y + 10, top + width))
    ]
    assert (found is not None) == bool(inside)
    if found:
        assert (found.x + left, found.y + top) == inside[0]
        assert found.length * found.width == len(inside)
