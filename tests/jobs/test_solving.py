"""One problem, two first cuts: sheets are ripped first and boards crosscut first, in one plan."""

import json

import pytest

from jobs.cutting.problem import ProblemError
from jobs.solving import solve_apart, split
from tests.outside.check_plan import Checker


def sheets_and_boards(**others):
    return {
        "unit": "in",
        "kerf": "1/8",
        "first_cut": "rip",
        "time_limit_s": 1,
        "stock": [
            {"id": "sheet", "length": 96, "width": 48, "material": "ply", "cost": "92.00", "buy": True},
            {"id": "board", "length": 97, "width": 6, "material": "ash", "cost": "14.00", "quantity": 2,
             "first_cut": "crosscut"},
        ],
        "parts": [
            {"id": "side", "length": 34, "width": 15, "quantity": 2, "grain": "length", "material": "ply"},
            {"id": "rail", "length": 40, "width": "2 1/2", "quantity": 4, "grain": "length", "material": "ash"},
            {"id": "cleat", "length": 20, "width": 2, "grain": "any", "material": ["ash", "ply"]},
        ],
        **others,
    }  # fmt: skip


def test_each_kind_of_stock_begins_with_its_own_cut_and_the_plan_is_one():
    problem = sheets_and_boards()
    plan = solve_apart(problem)
    checker = Checker(problem, json.loads(json.dumps(plan)))
    checker.run()
    assert checker.faults == []
    assert plan["unplaced"] == []
    firsts = {layout["stock"]: layout["tree"]["cut"] for layout in plan["layouts"]}
    assert firsts == {"sheet": "rip", "board": "crosscut"}
    assert checker.figures["bought"] == float(plan["figures"]["bought"]) == 92


def test_a_part_goes_where_the_first_of_its_materials_is():
    boards = next(kind for kind in split(sheets_and_boards()) if kind["first_cut"] == "crosscut")
    assert [part["id"] for part in boards["parts"]] == ["rail", "cleat"]
    problem = sheets_and_boards()
    problem["stock"] = problem["stock"][:1]  # no ash is there: the cleat may be of plywood too
    assert [row["id"] for row in solve_apart(problem)["unplaced"]] == ["rail"]


def test_a_problem_of_one_first_cut_stays_whole():
    problem = sheets_and_boards()
    for row in problem["stock"]:
        row["first_cut"] = "crosscut"
    (kind,) = split(problem)
    assert kind["first_cut"] == "crosscut"
    assert kind["parts"] == problem["parts"]


def test_a_blank_stays_together():
    problem = sheets_and_boards(
        blanks=[{"id": "run", "grain": "length", "quantity": 1, "tree": {"cut": "rip", "of": ["a", "b"]}}]
    )
    problem["parts"] += [
        {"id": name, "length": 20, "width": 3, "grain": "length", "material": material}
        for name, material in (("a", "ply"), ("b", ["ash", "ply"]))
    ]
    homes = [{part["id"] for part in kind["parts"]} & {"a", "b"} for kind in split(problem)]
    assert {"a", "b"} in homes
    assert solve_apart(problem)["unplaced"] == []


def test_both_kinds_share_the_time_limit():
    seconds = iter(range(0, 100, 3))
    plan = solve_apart(sheets_and_boards(), time_limit_s=1, clock=lambda: next(seconds))
    assert plan["unplaced"] == []  # a kind without time left still gets its first plan


def test_a_problem_that_makes_no_sense_is_refused_before_it_is_split():
    with pytest.raises(ProblemError, match="side"):
        solve_apart(sheets_and_boards(parts=[{"id": "side", "length": -3, "width": 2, "material": "ply"}]))
