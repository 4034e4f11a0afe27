"""Published cutting problems: exact values met, proven values never undercut or exceeded.

Sources stand in the heads of data/problems/*.json.
"""

import json

import pytest

from jobs.cutting.bounds import bought_bound
from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.planner import solve
from jobs.cutting.pricing import Pricer, Way
from tests.outside.check_plan import Checker
from tests.outside.published_problems import as_problem, published

EXACT_EFFORT = 10**9
WITHOUT_LIMIT = [row for row in published("one_sheet") if "UKP|O|G" in row["known"]]


@pytest.mark.parametrize("row", WITHOUT_LIMIT, ids=lambda row: row["name"])
def test_the_dearest_layout_of_one_sheet_is_worth_what_is_published(row):
    [[long, wide, _, _]] = row["bins"]
    ways = [Way(at, length, width, 10**6, False) for at, (length, width, _, _) in enumerate(row["items"])]
    pricer = Pricer(ways, long, wide, EXACT_EFFORT)
    pricer.price([value for _, _, _, value in row["items"]])
    assert pricer.value(long, wide) == row["known"]["UKP|O|G"]


@pytest.mark.parametrize("row", WITHOUT_LIMIT, ids=lambda row: row["name"])
def test_a_rougher_grid_never_values_a_layout_less(row):
    [[long, wide, _, _]] = row["bins"]
    ways = [Way(at, length, width, 10**6, False) for at, (length, width, _, _) in enumerate(row["items"])]
    for effort in (10_000, 100_000, 1_000_000):
        pricer = Pricer(ways, long, wide, effort)
        pricer.price([value for _, _, _, value in row["items"]])
        if not pricer.blind:
            assert pricer.value(long, wide) >= row["known"]["UKP|O|G"]


def named(family, *names):
    return [row for row in published(family) if row["name"] in names]


QUICK = [
    *((row, "2BP|O|G", False) for row in named("bwmv", "cl_01_020_01", "cl_02_080_10", "cl_04_060_10")),
    *((row, "2BP|O|G", False) for row in named("bwmv", "cl_07_020_01", "cl_09_060_01", "cl_10_020_01")),
    *((row, "2BP|R|G", True) for row in named("bwmv", "cl_02_080_10", "cl_04_060_10", "cl_10_020_01")),
    *((row, "2BP|O|G", False) for row in named("furniture", "furn_A1", "furn_A17", "furn_A9")),
    *((row, "1BP", False) for row in named("one_dimension", "u120_00", "u120_15")),
]


@pytest.mark.parametrize(
    ("row", "key", "turned"),
    QUICK,
    ids=lambda value: value["name"] if isinstance(value, dict) else str(value),
)
def test_no_more_sheets_are_needed_than_published(row, key, turned):
    data = as_problem(row, may_turn=turned)
    problem = read_problem(data)
    plan = solve(problem, time_limit_s=60, iterations=400)
    checker = Checker(data, json.loads(json.dumps(write_plan(problem, plan))))
    assert checker.run(), checker.faults
    assert plan.bought == row["known"][key]


BOUNDED = [row for row in published("bwmv")[::40] if len(row["items"]) <= 60]


@pytest.mark.parametrize("row", BOUNDED, ids=lambda row: row["name"])
@pytest.mark.parametrize(("key", "turned"), [("2BP|O|G", False), ("2BP|R|G", True)])
def test_the_bound_is_never_above_a_published_plan(row, key, turned):
    if key in row["known"]:
        assert bought_bound(read_problem(as_problem(row, may_turn=turned)), rounds=20) <= row["known"][key]
