"""The checker refuses each kind of plan that cannot be sawn, and passes one worked by hand."""

from dataclasses import replace
from fractions import Fraction

import pytest

from jobs.cutting.check import faults
from jobs.cutting.format import read_problem
from jobs.cutting.layout import Layout, Node, Plan, Unplaced


def make_problem(**others):
    """A sheet of 21 × 10 with a kerf of 1: two parts of 10 × 4 side by side leave 21 × 5."""
    data = {
        "kerf": 1,
        "keep": {"length": 6, "width": 4, "rate": "0.5"},
        "stock": [{"id": "sheet", "length": 21, "width": 10, "cost": "21.00", "buy": True}],
        "parts": [{"id": "shelf", "length": 10, "width": 4, "quantity": 2, "grain": "length"}],
    }
    return read_problem(data | others)


def shelf(size=10, **others):
    return Node("part", size, id="shelf", **others)


def make_tree(*shelves, offcut=5):
    strip = Node("cut", 4, cut="crosscut", of=shelves or (shelf(), shelf()))
    return Node("cut", cut="rip", of=(strip, Node("offcut", offcut)))


def make_plan(tree=None, **others):
    # The offcut is 21 × 5 of 21 × 10: half the price, at half the rate.
    plan = Plan((Layout("sheet", tree or make_tree()),), bought=Fraction(21), kept=Fraction(21, 4))
    return replace(plan, **others)


def test_a_plan_worked_by_hand_passes():
    assert faults(make_problem(), make_plan(bought_bound=Fraction(21))) == []


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (make_plan(make_tree(shelf(), shelf(11))), "takes 22 of 21"),
        (make_plan(make_tree(shelf(10))), "more than one kerf"),
        (make_plan(make_tree(shelf(10), shelf(9))), "not 10 × 4"),
        (make_plan(make_tree(shelf(turned=True), shelf())), "against its grain"),
        (make_plan(make_tree(offcut=0)), "no size"),
        (make_plan(Node("cut", cut="rip", of=())), "cuts into nothing"),
        (make_plan(make_tree(shelf(), Node("part", 10, id="door"))), "no part 'door'"),
        (make_plan(layouts=(Layout("board", make_tree()),)), "no stock 'board'"),
        (make_plan(layouts=()), "0 cut and 0 unplaced, 2 wanted"),
        (make_plan(unplaced=(Unplaced("shelf", 1, "why"),)), "2 cut and 1 unplaced"),
        (make_plan(bought=Fraction(20)), "bought is said to be 20"),
        (make_plan(kept=Fraction(0)), "kept is said to be 0"),
        (make_plan(bought_bound=Fraction(22)), "above"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(plan, said):
    assert any(said in fault for fault in faults(make_problem(), plan)), faults(make_problem(), plan)


SHEET = {"id": "sheet", "length": 21, "width": 10, "cost": "21.00", "buy": True}
SHELF = {"id": "shelf", "length": 10, "width": 4, "quantity": 2, "grain": "length"}


@pytest.mark.parametrize(
    ("others", "said"),
    [
        ({"stages": 1}, "change direction"),
        ({"first_cut": "crosscut"}, "first cut"),
        ({"keep": {"length": 21, "width": 6}}, "smaller than the shop"),
        ({"keep": None}, "says nothing of keeping"),
        ({"stock": [SHEET | {"quantity": 0}]}, "1 times, 0 are there"),
        ({"stock": [SHEET | {"defects": [{"x": 9, "y": 3, "length": 1, "width": 1}]}]}, "over a defect"),
        ({"stock": [SHEET | {"material": "ash"}], "parts": [SHELF | {"material": "oak"}]}, "cut from ash"),
    ],
)
def test_a_plan_against_the_problems_rules_is_refused(others, said):
    found = faults(make_problem(**others), make_plan())
    assert any(said in fault for fault in found), found


def test_a_defect_under_the_saw_or_the_offcut_harms_nothing():
    flaws = [{"x": 10, "y": 0, "length": 1, "width": 10}, {"x": 0, "y": 5, "length": 21, "width": 5}]
    assert faults(make_problem(stock=[SHEET | {"defects": flaws}]), make_plan()) == []
