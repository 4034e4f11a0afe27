"""The planner by properties: whatever is asked, what comes back can be sawn, and the figures are true."""

import json

from hypothesis import HealthCheck, example, given, settings

from jobs.cutting.bounds import bought_bound
from jobs.cutting.check import faults
from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.planner import solve
from tests.jobs.cutting.sawn_problems import sawn_problems
from tests.outside.check_plan import Checker

# Enough rounds that every part of the search has its turn; few where only the start matters.
ROUNDS, FEW_ROUNDS = 110, 12
unhurried = settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))


def planned(data, rounds=ROUNDS, **others):
    problem = read_problem(data)
    return problem, solve(problem, iterations=rounds, **others)


def written(problem, plan):
    return json.loads(json.dumps(write_plan(problem, plan)))


# Lengths that are binary floats make a measure so small that areas leave 64 bits.
FLOATS = {
    "kerf": "0.1",
    "stock": [{"id": "offcut", "length": 10, "width": 6, "quantity": 1}],
    "parts": [
        {"id": "a", "length": 10.0, "width": 2, "grain": "any"},
        {"id": "b", "length": 10.0, "width": 3.9000000000000004, "grain": "any"},
    ],
}


@unhurried
@given(sawn_problems())
@example(FLOATS)
def test_every_plan_can_be_sawn(data):
    problem, plan = planned(data)
    checker = Checker(data, written(problem, plan))
    assert checker.run(), checker.faults
    assert faults(problem, plan) == []


@unhurried
@given(sawn_problems())
def test_nothing_is_proven_that_a_plan_undercuts(data):
    problem, plan = planned(data, FEW_ROUNDS)
    assert plan.bought_bound <= plan.bought
    if not plan.unplaced:
        assert bought_bound(problem) <= plan.bought


@unhurried
@given(sawn_problems())
def test_what_is_left_out_says_why(data):
    _, plan = planned(data, FEW_ROUNDS)
    assert all(row.quantity > 0 and row.why.endswith(".") for row in plan.unplaced)


@settings(unhurried, max_examples=8)
@given(sawn_problems())
def test_the_same_seed_gives_the_same_plan(data):
    problem, plan = planned(data)
    _, again = planned(data)
    assert written(problem, plan)["layouts"] == written(problem, again)["layouts"]
