"""One sheet and parts with values: published optima met, no layout worth more than may be, no bound below."""

import time

import pytest

from jobs.cutting.fullest import fullest
from tests.jobs.cutting.quick_moves import quick_moves
from tests.outside.published_problems import as_one_sheet, published
from tests.outside.sawn_sheet import worth

HOUR = 3600.0
BEST, BOUND, ANY_CUTS = "KP|O|G", "KP|O|G:ub", "KP|O|F"
FEW_STAGES = ("KP|O|2NH", "KP|O|2NV", "KP|O|3NV")
QUICK = (
    "2s",
    "A2",
    "A5",
    "CHL2s",
    "CHL5",
    "CU1",
    "CW2",
    "OF1",
    "STS2s",
    "W",
    "gcut2",
    "gcut9",
    "okp5",
    "wang20",
)
OPEN = ("P1_100_200_25_5", "P4_150_150_50_3")


def named(names):
    return [pytest.param(row, id=row["name"]) for row in published("one_sheet") if row["name"] in names]


@pytest.mark.parametrize("row", named(QUICK))
def test_a_published_optimum_is_met_and_proven(row):
    quick_moves()
    size, ways, values = as_one_sheet(row)
    found = fullest(size, ways, values, time_limit_s=HOUR)
    assert found.value == found.bound == row["known"][BEST] == row["known"][BOUND]
    assert worth(size, ways, values, found.cuts) == found.value
    assert found.value <= row["known"].get(ANY_CUTS, found.value)
    assert all(row["known"].get(key, 0) <= found.value for key in FEW_STAGES)


@pytest.mark.parametrize("row", named(OPEN))
def test_no_bound_is_below_a_published_layout_and_no_layout_above_a_published_bound(row):
    quick_moves()
    size, ways, values = as_one_sheet(row)
    found = fullest(size, ways, values, time_limit_s=0.4, clock=time.process_time)
    assert worth(size, ways, values, found.cuts) == found.value <= row["known"][BOUND]
    assert row["known"][BEST] <= found.bound
