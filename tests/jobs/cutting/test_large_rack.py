"""A rack of hundreds or thousands: only what is of use is searched, and nothing false is proven of the rest."""

import random

import pytest
from hypothesis import HealthCheck, example, given, settings

from jobs.cutting import shortlist
from jobs.cutting.check import faults
from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.groups import Group, Rooms
from jobs.cutting.planner import solve
from jobs.cutting.search import group_search
from tests.jobs.cutting.sawn_problems import sawn_problems
from tests.outside.check_plan import Checker

ROUNDS = 25
unhurried = settings(deadline=None, max_examples=12, suppress_health_check=list(HealthCheck))


@pytest.fixture
def as_if_large(monkeypatch):
    """Every rack counts as too large to be searched whole, and only one piece of it is listed."""
    monkeypatch.setattr(shortlist, "MOST_LISTED", -(10**6))
    monkeypatch.setattr(shortlist, "LARGEST_LISTED", 1)
    monkeypatch.setattr(shortlist, "BOXES_A_SIDE", 2)


@pytest.fixture(params=["few parts", "many parts"])
def pieces(request, monkeypatch):
    many = 0 if request.param == "many parts" else 400
    monkeypatch.setattr(group_search, "MANY_PIECES", many)
    monkeypatch.setattr(group_search, "MANY_PIECES_OF_A_LARGE_RACK", many)


def ash(name, **others):
    return {"id": name, "length": 10, "width": 6, "quantity": 1, "material": "ash", **others}


# Three that once failed: sizes so fine that no sum of them can be counted out, and stock that is used up.
NO_STOCK_LEFT = {
    "kerf": 0,
    "stock": [ash("offcut")],
    "parts": [{"id": "a", "length": 10, "width": 1}, {"id": "b", "length": 10, "width": 5}],
}
NO_RACK_LEFT = {
    "kerf": 0,
    "stages": 1,
    "stock": [ash("first"), ash("sheet", buy=True), ash("second"), ash("third")],
    "parts": [
        {"id": "strip", "length": 1, "width": 6},
        {"id": "whole", "length": 10, "width": 6, "quantity": 4},
    ],
}
TOO_FINE = {
    **NO_RACK_LEFT,
    "kerf": "0.1",
    "parts": [{"id": "a", "length": 10.0, "width": 3.9000000000000004}, {"id": "b", "length": 9, "width": 2}],
}


@unhurried
@given(data=sawn_problems(most_stock=5))
@example(data=NO_STOCK_LEFT)
@example(data=NO_RACK_LEFT)
@example(data=TOO_FINE)
@pytest.mark.usefixtures("as_if_large", "pieces")
def test_every_plan_from_a_shortlist_can_be_sawn_and_undercuts_no_proof(data):
    problem = read_problem(data)
    plan = solve(problem, iterations=ROUNDS)
    checker = Checker(data, write_plan(problem, plan))
    assert checker.run(), checker.faults
    assert faults(problem, plan) == []
    assert plan.bought_bound <= plan.bought


@unhurried
@given(data=sawn_problems(most_stock=5))
def test_what_is_proven_of_boxes_holds_for_the_rack_itself(data):
    problem = read_problem(data)
    whole = solve(problem, iterations=ROUNDS)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shortlist, "MOST_LISTED", -(10**6))
        patch.setattr(shortlist, "LARGEST_LISTED", 1)
        patch.setattr(shortlist, "BOXES_A_SIDE", 2)
        boxed = solve(problem, iterations=ROUNDS)
    if not whole.unplaced and not boxed.unplaced:
        assert boxed.bought_bound <= whole.bought


@unhurried
@given(data=sawn_problems(most_stock=6))
def test_a_box_holds_what_each_piece_does_that_it_stands_for(data):
    problem = read_problem(data)
    rack = [stock for stock in problem.stock if not stock.buy]
    boxes = shortlist.boxes_of(rack)
    held = Rooms(problem, rack), Rooms(problem, boxes)
    for item in problem.items:
        assert held[1].that_hold(item).any() >= held[0].that_hold(item).any()
    if all(stock.quantity is not None for stock in rack):
        assert sum(box.quantity for box in boxes) == sum(stock.quantity for stock in rack)


def make_problem(offcuts, parts, **others):
    return read_problem(
        {
            "kerf": "1/8",
            "keep": {"length": 12, "width": 4, "rate": "0.5"},
            "stock": [{"id": "sheet", "length": 96, "width": 48, "cost": "90", "buy": True}, *offcuts],
            "parts": parts,
            **others,
        }
    )


def make_offcuts(count, chance):
    return [
        {
            "id": f"O{number}",
            "length": chance.randint(8, 60),
            "width": chance.randint(3, 30),
            "cost": f"{chance.randint(10, 900) / 100:.2f}",
            "quantity": 1,
        }
        for number in range(count)
    ]


def test_each_copy_of_a_part_has_a_piece_of_its_own_listed():
    chance = random.Random(3)
    problem = make_problem(
        make_offcuts(1_000, chance), [{"id": "shelf", "length": 30, "width": 9, "quantity": 40}]
    )
    listed = shortlist.shortlist(problem, Group(problem.items, problem.stock))
    assert len(listed.stock) <= 1 + shortlist.MOST_LISTED + 40
    rooms = Rooms(problem, [stock for stock in listed.stock if not stock.buy])
    assert rooms.that_hold(problem.items[0]).sum() >= 40
    assert len(listed.boxes) <= shortlist.BOXES_A_SIDE**2


@pytest.mark.parametrize("copies", [6, 90])
def test_the_one_offcut_that_fits_exactly_is_found_among_a_thousand(copies):
    chance = random.Random(7)
    exact = {"id": "exact", "length": "33 1/4", "width": "11 3/8", "cost": "0.10", "quantity": 1}
    parts = [
        {"id": f"shelf {n}", "length": "33 1/4", "width": "11 3/8", "quantity": 6} for n in range(copies)
    ]
    problem = make_problem([*make_offcuts(1_000, chance), exact], parts)
    plan = solve(problem, iterations=3)
    assert "exact" in {layout.stock for layout in plan.layouts}
    assert not plan.unplaced


def test_a_large_rack_that_does_not_do_is_cut_as_far_as_it_goes():
    offcuts = make_offcuts(1_000, random.Random(5))
    parts = [{"id": "top", "length": 59, "width": 29, "quantity": 170}]
    problem = make_problem(offcuts, parts, stock=offcuts)
    plan = solve(problem, iterations=10)
    room = Rooms(problem, problem.stock).that_hold(problem.items[0]).sum()
    assert 0 < room < 170
    assert [(row.id, row.quantity) for row in plan.unplaced] == [("top", 170 - room)]


def test_what_no_piece_of_a_large_rack_can_hold_is_proven_to_be_bought():
    problem = make_problem(
        make_offcuts(1_000, random.Random(11)), [{"id": "top", "length": 90, "width": 40, "quantity": 7}]
    )
    plan = solve(problem, iterations=20)
    assert plan.bought == plan.bought_bound == 7 * 90
