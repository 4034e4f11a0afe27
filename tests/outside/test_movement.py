"""Seasonal movement against the Wood Handbook's and others' worked examples (movement.csv)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.measure import inches, mm
from shared.wood import NotItsMoisture, movement
from tests.outside.reference import row_id, rows

EXAMPLES = [line for line in rows("movement", kind="example") if line["formula"] == "Eq. 13-2"]


@pytest.mark.parametrize("example", EXAMPLES, ids=row_id)
def test_a_published_movement_comes_out(example):
    one = mm(1) if example["dim_unit"] == "mm" else inches(1)
    width = int(Decimal(example["initial_dimension"]) * one)
    moved = movement(
        width,
        Decimal(example["coefficient"]),
        Decimal(example["mc_initial_pct"]),
        Decimal(example["mc_final_pct"]),
    )
    printed = Decimal(example["expected_change"])
    places = -int(printed.as_tuple().exponent)
    assert round(Decimal(moved) / one, places) == printed
    if example["expected_final"]:
        assert round(Decimal(width + moved) / one, places) == Decimal(example["expected_final"])


@given(
    st.integers(1, inches(60)),
    st.decimals("0.0005", "0.005", places=5),
    st.integers(6, 14),
    st.integers(6, 14),
)
def test_what_a_damp_summer_gives_a_dry_winter_takes(width, coefficient, dry, damp):
    there = movement(width, coefficient, Decimal(dry), Decimal(damp))
    assert movement(width, coefficient, Decimal(damp), Decimal(dry)) == -there


@pytest.mark.parametrize("pct", ["5.9", "14.1", "30"])
def test_the_formula_is_refused_where_it_does_not_hold(pct):
    with pytest.raises(NotItsMoisture, match="outside 6 to 14"):
        movement(inches(8), Decimal("0.002"), Decimal(8), Decimal(pct))
