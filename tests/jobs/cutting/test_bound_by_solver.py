"""No bound is above what a plan costs that a general solver proves to be the cheapest of strips.

CP-SAT (ortools) assigns parts to strips and strips to pieces of several sizes and prices, the rack included;
what it finds can be sawn, so that no bound may be above it. On bars, where a strip is all there is, it is exact.
"""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.bounds import bought_bound
from jobs.cutting.format import read_problem
from jobs.cutting.planner import solve
from tests.jobs.cutting.cheapest_strips import cheapest_strips
from tests.jobs.cutting.test_planner import unhurried

pytest.importorskip("ortools.sat")

LONGEST, WIDEST, BAR = 20, 12, 3
parts_of_sheets = st.lists(st.tuples(st.integers(2, 14), st.integers(2, 8)), min_size=1, max_size=6)
parts_of_bars = st.lists(st.tuples(st.integers(2, 14), st.just(BAR)), min_size=1, max_size=8)
more_stock = st.lists(
    st.tuples(st.integers(14, LONGEST), st.integers(8, WIDEST), st.integers(1, 9), st.booleans()), max_size=2
)


def make_problem(parts, stock, kerf):
    """A sheet to buy without limit, and others: to buy, or one each in the rack."""
    rows = [{"id": "sheet", "length": LONGEST, "width": stock[0][1], "cost": stock[0][2], "buy": True}]
    for number, (length, width, cost, buy) in enumerate(stock[1:]):
        row = {"id": f"other {number}", "length": length, "width": width, "cost": cost, "buy": buy}
        rows.append(row | ({} if buy else {"quantity": 1}))
    listed = [
        {"id": f"part {number}", "length": length, "width": width, "grain": "length"}
        for number, (length, width) in enumerate(parts)
    ]
    return read_problem({"kerf": kerf, "stock": rows, "parts": listed})


@pytest.fixture(scope="module")
def least_of_strips():
    """What the solver says, from a process of its own."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as apart:
        yield lambda *asked: apart.submit(cheapest_strips, *asked).result(timeout=60)


@settings(unhurried, max_examples=20)
@given(parts_of_sheets, st.integers(1, 9), more_stock, st.integers(0, 1))
def test_no_bound_is_above_the_cheapest_plan_of_strips(least_of_strips, parts, cost, others, kerf):
    stock = [(LONGEST, WIDEST, cost, True), *others]
    assert bought_bound(make_problem(parts, stock, kerf)) <= least_of_strips(parts, stock, kerf)


@settings(unhurried, max_examples=20)
@given(parts_of_bars, st.integers(1, 9), more_stock, st.integers(0, 1))
def test_bars_are_planned_for_what_the_solver_proves(least_of_strips, parts, cost, others, kerf):
    stock = [(LONGEST, BAR, cost, True), *((length, BAR, price, buy) for length, _, price, buy in others)]
    problem, least = make_problem(parts, stock, kerf), least_of_strips(parts, stock, kerf)
    assert bought_bound(problem) <= least
    assert solve(problem, iterations=60).bought == least
