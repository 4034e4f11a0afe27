"""On problems small enough to try everything, the planner agrees with trying everything."""

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.bounds import bought_bound
from jobs.cutting.format import read_problem
from jobs.cutting.planner import solve
from tests.jobs.cutting.test_planner import unhurried
from tests.jobs.cutting.tried_all import fewest_sheets

LONG, WIDE = 20, 12
ROUNDS = 60
sizes = st.lists(st.tuples(st.integers(2, LONG), st.integers(2, WIDE)), min_size=1, max_size=5)


def make_problem(sizes, *, kerf=0, may_turn=False, times=1, mirrored=False):
    long, wide = (WIDE, LONG) if mirrored else (LONG, WIDE)
    parts = [
        {
            "id": f"part {number}",
            "length": times * (width if mirrored else length),
            "width": times * (length if mirrored else width),
            "grain": "any" if may_turn else "length",
        }
        for number, (length, width) in enumerate(sizes)
    ]
    stock = [{"id": "sheet", "length": times * long, "width": times * wide, "cost": "10.00", "buy": True}]
    return read_problem({"kerf": times * kerf, "stock": stock, "parts": parts})


def bought(problem):
    return solve(problem, iterations=ROUNDS).bought


@settings(unhurried, max_examples=40)
@given(sizes, st.integers(0, 2), st.booleans())
def test_no_sheet_is_bought_that_trying_everything_saves(sizes, kerf, may_turn):
    fewest = fewest_sheets(sizes, LONG, WIDE, kerf, may_turn=may_turn)
    assert bought(make_problem(sizes, kerf=kerf, may_turn=may_turn)) == 10 * fewest


@settings(unhurried, max_examples=100)
@given(sizes, st.integers(0, 2), st.booleans())
def test_the_bound_is_never_above_the_truth(sizes, kerf, may_turn):
    fewest = fewest_sheets(sizes, LONG, WIDE, kerf, may_turn=may_turn)
    assert bought_bound(make_problem(sizes, kerf=kerf, may_turn=may_turn)) <= 10 * fewest


@settings(unhurried, max_examples=20)
@given(sizes, st.randoms(use_true_random=False), st.integers(2, 9))
def test_order_mirroring_and_scale_change_no_figure(sizes, random, times):
    plain = bought(make_problem(sizes, kerf=1))
    shuffled = random.sample(sizes, len(sizes))
    assert bought(make_problem(shuffled, kerf=1)) == plain
    assert bought(make_problem(sizes, kerf=1, mirrored=True)) == plain
    assert bought(make_problem(sizes, kerf=1, times=times)) == plain
