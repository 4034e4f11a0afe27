"""Boards, bars and strips: parts one behind the other, priced and proven by a knapsack."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.bars import BarPricer, lone_axis
from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.planner import solve
from jobs.cutting.pricing import Way, leaves
from tests.outside.check_plan import Checker

EFFORT = 1_000_000


def make_ways(sizes, copies=1):
    return [Way(number, size, 5, copies, False) for number, size in enumerate(sizes)]


def dearest(sizes, prices, room):
    """By trying all: the most that different parts are worth within a length."""
    best = [0] * (room + 1)
    for size, price in zip(sizes, prices, strict=True):
        for cells in range(room, size - 1, -1):
            best[cells] = max(best[cells], best[cells - size] + price)
    return best[room]


def test_two_parts_that_fit_side_by_side_make_no_bar():
    assert lone_axis([Way(0, 10, 5, 1, False)], 100, 10) is None


def test_parts_wider_than_half_a_board_lie_in_one_row():
    assert lone_axis([Way(0, 10, 6, 1, False), Way(1, 60, 10, 1, False)], 100, 10) == 0


def test_parts_longer_than_half_a_sheet_lie_one_above_the_other():
    assert lone_axis([Way(0, 51, 3, 1, False)], 100, 10) == 1


rows = st.lists(st.tuples(st.integers(1, 30), st.integers(0, 50)), min_size=1, max_size=8)


@settings(deadline=None)
@given(rows, st.integers(30, 60))
def test_a_row_is_worth_what_trying_everything_finds(rows, room):
    sizes, prices = [size for size, _ in rows], [price for _, price in rows]
    pricer = BarPricer(make_ways(sizes), room, 9, 0, EFFORT)
    pricer.price(prices)
    found = dearest(sizes, prices, room)
    assert pricer.value(room, 9) == found
    if found:
        cut = [way.item for way in leaves(next(pricer.good_cuts(room, 9, 1)))]
        assert len(cut) == len(set(cut))
        assert (sum(prices[item] for item in cut), sum(sizes[item] for item in cut) <= room) == (found, True)


def test_no_more_copies_are_priced_than_are_left():
    pricer = BarPricer(make_ways([10], copies=9), 100, 9, 0, EFFORT)
    pricer.price([7])
    assert pricer.value(100, 9) == 63
    pricer.price([7], [2])
    assert pricer.value(100, 9) == 14


def test_a_length_too_long_to_count_out_is_never_valued_less():
    sizes = [300_007, 200_003, 99_991]
    pricer = BarPricer(make_ways(sizes, copies=9), 1_000_000, 9, 0, 1)
    pricer.price(sizes)
    assert not pricer.is_exact
    assert pricer.value(1_000_000, 9) >= 999_996


def planned(data, rounds):
    problem = read_problem(data)
    plan = solve(problem, iterations=rounds)
    checker = Checker(data, json.loads(json.dumps(write_plan(problem, plan))))
    assert checker.run(), checker.faults
    return plan


# Three to a board with nothing left over, found by sawing boards of 1,000 up.
TRIPLETS = [
    (351, 342, 307),
    (399, 331, 270),
    (412, 333, 255),
    (457, 278, 265),
    (366, 372, 262),
    (489, 259, 252),
]


@pytest.mark.parametrize("kerf", [0, 1, "1/8"])
def test_boards_sawn_up_without_a_rest_are_filled_again(kerf):
    room = 1000 + 2 * (0.125 if kerf == "1/8" else kerf)
    data = {
        "kerf": kerf,
        "first_cut": "crosscut",
        "stock": [{"id": "board", "length": room, "width": 6, "cost": "10", "buy": True}],
        "parts": [
            {"id": f"{row}.{at}", "length": size, "width": 6 - at, "grain": "length"}
            for row, sizes in enumerate(TRIPLETS)
            for at, size in enumerate(sizes)
        ],
    }
    plan = planned(data, 300)
    assert (plan.bought, plan.is_optimal) == (60, True)


lengths = st.lists(st.integers(12, 60), min_size=2, max_size=14)


@settings(deadline=None, max_examples=25)
@given(
    lengths,
    st.sampled_from([0, 1, "1/8"]),
    st.sampled_from([None, 1, 2, 3]),
    st.sampled_from(["either", "rip", "crosscut"]),
    st.sampled_from([None, 1, 2]),
)
def test_a_plan_of_boards_keeps_kerf_stages_and_first_cut(sizes, kerf, stages, first_cut, quantity):
    board = {"id": "board", "length": 97, "width": 6, "trim": "1/4", "cost": "10", "buy": True}
    shorter = {"id": "short", "length": 71, "width": 5, "cost": "7", "buy": True}
    rack = {"id": "rack", "length": 50, "width": 6, "cost": "3"}
    if quantity is not None:
        rack["quantity"] = quantity
    data = {
        "kerf": kerf,
        "stages": stages,
        "first_cut": first_cut,
        "keep": {"length": 12, "width": 3, "rate": "0.5"},
        "stock": [board, shorter, rack],
        "parts": [
            {"id": str(at), "length": size, "width": 4 + at % 2, "grain": "length"}
            for at, size in enumerate(sizes)
        ],
    }
    plan = planned(data, 60)
    assert plan.bought_bound <= plan.bought
