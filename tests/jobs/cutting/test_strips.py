"""Layouts of strips: what they hold, and orders of many copies cut from them."""

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.groups import split
from jobs.cutting.planner import solve
from jobs.cutting.pricers import ways_on
from jobs.cutting.pricing import Pricer
from jobs.cutting.strips import StripPricers
from tests.outside.check_plan import Checker

EXACT = 10**9


def make_order(sizes, *, copies=1, kerf=0, length=100, width=60, **others):
    sheet = {"id": "sheet", "length": length, "width": width, "cost": "10", "buy": True}
    parts = [
        {"id": str(at), "length": long, "width": wide, "quantity": copies, "grain": "length"}
        for at, (long, wide) in enumerate(sizes)
    ]
    return {"kerf": kerf, "stock": [sheet], "parts": parts, **others}


def priced(data, prices):
    problem = read_problem(data)
    pricers = StripPricers(problem, split(problem)[0][0])
    return pricers, pricers.price(prices)[0]


def test_stacks_in_a_strip_fill_the_sheet():
    # One strip 60 wide: a part of 50 × 60, then two of 50 × 30 one above the other.
    pricers, worth = priced(make_order([(50, 60), (50, 30)], copies=2), [61, 30])
    assert worth == 122
    pricers, worth = priced(make_order([(50, 60), (50, 30)], copies=1), [61, 30])
    assert worth == 91
    assert next(pricers.columns(0, 1)).counts == ((0, 1), (1, 1))


def test_no_more_is_cut_of_a_part_than_is_left():
    pricers, _ = priced(make_order([(50, 30)], copies=4), [7])
    assert pricers.price([7], [3]) == [21]


sizes = st.lists(st.tuples(st.integers(9, 60), st.integers(9, 40)), min_size=1, max_size=5, unique=True)


@settings(deadline=None, max_examples=40)
@given(sizes, st.integers(0, 2))
def test_strips_never_hold_more_than_any_cuts_can(sizes, kerf):
    data = make_order(sizes, copies=99, kerf=kerf)
    problem = read_problem(data)
    group, prices = split(problem)[0][0], [long * wide for long, wide in sizes]
    _, worth = priced(data, prices)
    long, wide = (side + problem.kerf for side in group.stock[0].usable)
    exact = Pricer(ways_on(group, group.stock[0], problem.kerf), long, wide, EXACT)
    exact.price(prices)
    assert 0 < worth <= exact.value(long, wide)


@settings(deadline=None, max_examples=6)
@given(
    sizes,
    st.sampled_from([None, 2, 3]),
    st.sampled_from(["either", "rip", "crosscut"]),
    st.sampled_from([0, "1/8"]),
)
def test_a_large_order_can_be_sawn(sizes, stages, first_cut, kerf):
    data = make_order(sizes, copies=401 // len(sizes) + 1, kerf=kerf, stages=stages, first_cut=first_cut)
    problem = read_problem(data)
    plan = solve(problem, iterations=40)
    checker = Checker(data, json.loads(json.dumps(write_plan(problem, plan))))
    assert checker.run(), checker.faults
    assert not plan.unplaced
    assert plan.bought_bound <= plan.bought
