"""Boards filled a section at a time: always a plan that holds, and one that the search is measured by."""

import json
import random
from fractions import Fraction

import pytest

from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.sections import better, fill_by_sections
from tests.bench import boards as bench
from tests.outside.check_plan import Checker

LATE = float("inf")


def problem(rng, **others):
    """Parts of a job and boards of a rack at random: turned parts, flaws, kinds of wood, too little of it."""
    woods = ["ash", "oak"][: rng.randint(1, 2)]
    stock = []
    for number in range(rng.randint(1, 10)):
        length, width = rng.randint(20, 120), Fraction(rng.randint(16, 40), 4)
        row = {"id": f"b{number}", "length": length, "width": str(width), "cost": str(rng.randint(0, 60)),
               "quantity": rng.choice([1, 1, 2]), "material": rng.choice(woods)}  # fmt: skip
        if rng.random() < 0.4:
            row["defects"] = [
                {"x": rng.randrange(length), "y": 0, "length": 1, "width": 2}
                for _ in range(rng.randint(1, 3))
            ]
            row["defects"] = [flaw for flaw in row["defects"] if flaw["x"] + 1 <= length]
        stock.append(row)
    parts = [
        {"id": f"p{number}", "length": rng.randint(3, 60), "width": str(Fraction(rng.randint(2, 30), 4)),
         "quantity": rng.randint(1, 6), "grain": rng.choice(["length", "length", "width", "any"]),
         "material": rng.choice(woods)}
        for number in range(rng.randint(1, 8))
    ]  # fmt: skip
    return {"unit": "in", "kerf": "1/8", "first_cut": "crosscut", "time_limit_s": 1, "stock": stock,
            "keep": {"length": 12, "width": 2, "rate": "0.5"}, "parts": parts, **others}  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_what_is_filled_by_sections_holds(seed):
    asked = problem(random.Random(seed))
    plan = fill_by_sections(read_problem(asked), LATE)
    assert plan is not None
    checker = Checker(asked, json.loads(json.dumps(write_plan(read_problem(asked), plan))))
    checker.run()
    assert checker.faults == []


def test_the_same_problem_is_filled_the_same_way():
    asked = read_problem(problem(random.Random(7)))
    assert fill_by_sections(asked, LATE) == fill_by_sections(asked, LATE)


def test_of_many_boards_few_are_wasted():
    """120 parts from 60 boards: at least four fifths of what is used is parts. By area it could be no more than
    all; the kerf alone takes a twentieth."""
    asked = bench.problem(2, 8)
    plan = fill_by_sections(read_problem({**asked, "first_cut": "crosscut"}), LATE)
    stock = {row["id"]: row for row in asked["stock"]}
    used = sum(bench._area(stock[layout.stock]) for layout in plan.layouts)
    wanted = sum(bench._area(part) * part["quantity"] for part in asked["parts"])
    assert plan.unplaced == ()
    assert wanted / used > Fraction(4, 5)


@pytest.mark.parametrize(
    "others",
    [
        {"first_cut": "rip"},
        {"stages": 2},
        {"stock": [{"id": "sheet", "length": 96, "width": 48, "buy": True}]},
    ],
)
def test_it_leaves_alone_what_is_not_sawn_so(others):
    assert fill_by_sections(read_problem(problem(random.Random(1), **others)), LATE) is None


def test_without_time_it_gives_nothing():
    assert fill_by_sections(read_problem(problem(random.Random(1))), until=0.0, clock=lambda: 1.0) is None


def test_the_better_plan_is_kept():
    asked = read_problem(problem(random.Random(3)))
    plan = fill_by_sections(asked, LATE)
    nothing = type(plan)(layouts=())
    assert better(asked, nothing, plan) is plan
    assert better(asked, plan, nothing) is plan
    assert better(asked, plan, None) is plan
