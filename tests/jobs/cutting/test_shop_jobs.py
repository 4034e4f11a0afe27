"""What the shop asks of a plan, one sentence a test."""

from fractions import Fraction

import pytest

from jobs.cutting.format import read_problem
from jobs.cutting.planner import solve
from jobs.cutting.search.accelerate import PLAIN
from tests.jobs.cutting.quick_moves import quick_moves

SHEET = {"id": "sheet", "length": 96, "width": 48, "cost": "92.00", "buy": True}


def make_offcut(name="offcut", length=40, width=20, cost="8.00", **others):
    return {"id": name, "length": length, "width": width, "cost": cost, "quantity": 1} | others


def make_part(name="shelf", length=30, width=12, **others):
    return {"id": name, "length": length, "width": width, "grain": "length"} | others


def planned(stock, parts, rounds=40, **others):
    data = {"kerf": "1/8", "keep": {"length": 12, "width": 4, "rate": "0.5"}, "stock": stock, "parts": parts}
    return solve(read_problem(data | others), iterations=rounds)


def stock_used(plan):
    return {layout.stock: layout.count for layout in plan.layouts}


def test_an_offcut_goes_before_a_sheet():
    plan = planned([SHEET, make_offcut()], [make_part()])
    assert (stock_used(plan), plan.bought) == ({"offcut": 1}, 0)


def test_an_offcut_goes_before_a_whole_sheet_of_the_rack():
    whole = SHEET | {"id": "whole", "buy": False, "quantity": 1}
    assert stock_used(planned([whole, make_offcut()], [make_part()])) == {"offcut": 1}


def test_the_cheaper_of_two_offcuts_that_do_is_used():
    stock = [make_offcut("dear", cost="9.00"), make_offcut("cheap", cost="4.00")]
    assert stock_used(planned(stock, [make_part()])) == {"cheap": 1}


def test_a_part_is_cut_only_from_one_of_its_materials():
    stock = [make_offcut(material="oak"), make_offcut("poplar", material="poplar")]
    assert stock_used(planned(stock, [make_part(material=["ash", "poplar"])])) == {"poplar": 1}


def test_the_cheapest_mix_of_sizes_is_bought():
    small = {"id": "small", "length": 48, "width": 24, "cost": "30.00", "buy": True}
    # One half of a sheet's parts: two small sheets at 60 beat one large at 92.
    plan = planned([SHEET, small], [make_part(length=48, width=24, quantity=2)], kerf=0)
    assert (stock_used(plan), plan.bought, plan.is_optimal) == ({"small": 2}, 60, True)


def test_a_rip_comes_first_where_it_costs_nothing():
    plan = planned([SHEET], [make_part(length=48, width=24, quantity=4)], kerf=0)
    assert plan.layouts[0].tree.cut == "rip"


def test_a_part_as_large_as_the_sheet_needs_no_cut():
    plan = planned([SHEET], [make_part(length=96, width=48)])
    assert plan.layouts[0].tree.kind == "part"


def test_what_is_left_is_kept_only_where_the_shop_keeps_that_size():
    plan = planned(
        [make_offcut(length=30, width=20)], [make_part(length=30, width=16)], keep={"length": 12, "width": 4}
    )
    assert plan.kept == 0
    plan = planned(
        [make_offcut(length=30, width=20)], [make_part(length=30, width=15)], keep={"length": 12, "width": 4}
    )
    # 30 × 4 7/8 of 30 × 20, all of its value as no rate is given.
    assert plan.kept == 8 * Fraction(39, 8) / 20


@pytest.mark.parametrize(
    ("stock", "part", "said"),
    [
        ([SHEET], make_part(length="98 1/2"), "It is longer than every piece: 98 1/2 against 96"),
        ([SHEET], make_part(length=60, width=50), "It is wider than every piece: 50 against 48"),
        ([SHEET], make_part(length=40, width=90), "It fits only across its grain"),
        ([SHEET | {"material": "ash"}], make_part(material="oak"), "There is no stock of oak"),
        ([SHEET | {"quantity": 0}], make_part(), "has quantity 0"),
        ([SHEET | {"trim": "1/4"}], make_part(length=96), "96 against 95 1/2 inside its trimmed edges"),
    ],
)
def test_what_fits_nowhere_is_named_with_what_would_help(stock, part, said):
    plan = planned(stock, [part])
    assert [(row.id, row.quantity, row.fits_nowhere) for row in plan.unplaced] == [("shelf", 1, True)]
    assert said in plan.unplaced[0].why


def test_parts_that_the_stock_runs_out_for_are_named():
    plan = planned([make_offcut()], [make_part(quantity=3)])
    assert [(row.id, row.quantity) for row in plan.unplaced] == [("shelf", 2)]
    assert plan.unplaced[0].why.startswith("The stock ran out")
    assert not plan.is_optimal


def test_a_large_order_that_uses_up_all_stock_is_cut_as_far_as_it_goes():
    stock = [make_offcut("whole", 96, 48, quantity=2), make_offcut()]
    parts = [make_part(str(number), 20 - number, 9 - number % 3, quantity=110) for number in range(4)]
    plan = planned(stock, parts)
    assert stock_used(plan) == {"whole": 2, "offcut": 1}
    assert sum(row.quantity for row in plan.unplaced) < 440


def test_nothing_to_cut_is_a_plan_too():
    plan = planned([SHEET], [])
    assert (plan.layouts, plan.bought, plan.is_optimal) == ((), 0, True)


class Clock:
    """A clock that goes on by itself, a hundredth of a second each time it is read."""

    def __init__(self):
        self.now = 0.0

    def __call__(self):
        self.now += 0.01
        return self.now


HARD = [make_part(str(number), 40 - number, 20 - number % 7, quantity=2) for number in range(12)]


def test_the_answer_comes_within_the_time_limit():
    problem = read_problem(
        {"kerf": "1/8", "stock": [SHEET, SHEET | {"id": "b", "length": 60, "cost": "61"}], "parts": HARD}
    )
    plan = solve(problem, time_limit_s=0.5, clock=Clock())
    assert plan.stopped in ("time limit", "nothing more to gain")
    assert plan.seconds <= 0.6


def test_the_answer_comes_at_once_where_it_is_proven():
    plan = solve(read_problem({"stock": [SHEET], "parts": [make_part()]}), time_limit_s=60, clock=Clock())
    assert (plan.stopped, plan.is_optimal) == ("nothing more to gain", True)
    assert plan.seconds < 1


def test_who_cancels_gets_the_best_so_far():
    plan = solve(read_problem({"stock": [SHEET], "parts": HARD}), time_limit_s=60, cancelled=lambda: True)
    assert plan.stopped == "cancelled"
    assert not plan.unplaced


def test_progress_is_told_and_never_worsens():
    told = []
    solve(read_problem({"kerf": "1/8", "stock": [SHEET], "parts": HARD}), iterations=60, progress=told.append)
    bought = [now.bought for now in told]
    assert bought
    assert bought == sorted(bought, reverse=True)
    assert all(now.bound <= now.bought and now.unplaced == 0 for now in told)


def test_materials_that_share_nothing_are_planned_apart():
    stock = [SHEET | {"id": name, "material": name} for name in ("ash", "oak")]
    parts = [make_part(name, material=name, quantity=3) for name in ("ash", "oak")]
    plan = planned(stock, parts)
    assert (stock_used(plan), plan.bought, plan.is_optimal) == ({"ash": 1, "oak": 1}, 184, True)


def test_compiled_moves_give_the_same_plan():
    quick = quick_moves()
    problem = read_problem({"kerf": "1/8", "stock": [SHEET, make_offcut()], "parts": HARD})
    plans = [solve(problem, iterations=60, moves=moves).layouts for moves in (PLAIN, quick)]
    assert plans[0] == plans[1]
