"""The stock bills of 1909 to 1912 planned on the boards that the buy list would ask a yard for."""

import json
from collections import defaultdict
from fractions import Fraction

import pytest

from jobs.solving import solve_apart
from jobs.yard_list import LEAST_WIDTH, USUAL_LENGTH, Wanted, least_boards
from shared.measure import exact_text, inches
from tests.outside.check_plan import Checker
from tests.outside.published_plans import PLANS, name_of, stated, ticks

#: A packing case of 1911 prints a total besides: it stands in test_published_plans.
BILLS = [plan for plan in PLANS if plan["kind"] == "solid" and not plan["stated_stock"]]
KERF = inches("1/8")


def by_thickness(bill):
    """A bill's parts by thickness, as the yard sells them, each with its number on the bill."""
    found = defaultdict(list)
    for number, part in enumerate(bill["parts"]):
        row = Wanted(part["id"], part["quantity"], ticks(part["length"], "in"), ticks(part["width"], "in"))
        found[part["thickness"]].append((f"{number}", row))
    return found


def problem_of(rows, boards):
    return {
        "unit": "in",
        "kerf": "1/8",
        "time_limit_s": 1,
        "stock": [
            {
                "id": f"board {number}",
                "length": exact_text(length, "in"),
                "width": exact_text(width, "in"),
                "quantity": 1,
                "cost": 1,
                "first_cut": "crosscut",
            }
            for number, (width, length) in enumerate(boards)
        ],
        "parts": [
            {
                "id": name,
                "length": exact_text(row.length, "in"),
                "width": exact_text(row.width, "in"),
                "quantity": row.count,
                "grain": "length",
            }
            for name, row in rows
        ],
    }


def test_there_are_32_bills():
    assert len(BILLS) == 32


@pytest.mark.parametrize("bill", BILLS, ids=name_of)
def test_the_boards_asked_for_give_every_part_of_a_bill(bill):
    for rows in by_thickness(bill).values():
        boards = least_boards([row for _, row in rows], KERF)
        problem = problem_of(rows, boards)
        plan = solve_apart(problem)
        checker = Checker(problem, json.loads(json.dumps(plan)))
        checker.run()
        assert checker.faults == []
        assert plan["unplaced"] == []


@pytest.mark.parametrize("bill", BILLS, ids=name_of)
def test_no_board_asked_for_is_narrower_or_shorter_than_its_parts(bill):
    for rows in by_thickness(bill).values():
        boards = least_boards([row for _, row in rows], KERF)
        wanted = sum(row.length * row.width * row.count for _, row in rows)
        assert sum(width * length for width, length in boards) >= wanted
        widest = max(row.width for _, row in rows)
        longest = max(row.length for _, row in rows)
        assert max(width for width, _ in boards) == max(widest, LEAST_WIDTH)
        assert longest <= max(length for _, length in boards) <= max(longest, USUAL_LENGTH)


@pytest.mark.parametrize("bill", BILLS, ids=name_of)
def test_the_board_feet_of_what_is_asked_for_are_no_less_than_the_bills(bill):
    total = Fraction(0)
    for thickness, rows in by_thickness(bill).items():
        thick = max(Fraction(1), stated(thickness))
        for width, length in least_boards([row for _, row in rows], KERF):
            total += thick * Fraction(width, inches(1)) * Fraction(length, inches(1)) / 144
    assert total >= Fraction(bill["computed"]["board_feet_trade_fraction"])
