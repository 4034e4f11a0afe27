"""Areas, board feet, tallies and weights from ticks."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.measure import (
    LONGEST,
    TICKS_PER_INCH,
    area_ft2,
    area_in2,
    area_m2,
    board_feet,
    format_area,
    format_weight,
    inches,
    mm,
    surface_measure,
    tally_board_feet,
    weight_kg,
)
from shared.tally import bundle_board_feet, export_board_feet, surface_measures

LENGTHS = st.integers(1, LONGEST)
BOARDS = st.lists(st.tuples(st.integers(1, inches(20)), st.integers(1, inches(240))), max_size=20)


def test_areas_and_weights_have_a_figure_more_where_they_are_small():
    assert format_area(inches(96) * inches(48), "in") == "32.0 sq ft"
    assert format_area(inches(12) * inches(3), "in") == "0.25 sq ft"
    assert format_area(mm(2440) * mm(1220), "mm") == "2.98 m²"
    assert format_area(mm(300) * mm(100), "mm") == "0.030 m²"
    assert format_weight(Decimal("31.7"), "in") == "70 lb"
    assert format_weight(Decimal("31.7"), "mm") == "32 kg"
    assert format_weight(Decimal("1.55"), "in") == "3.4 lb"


@given(length=LENGTHS, width=LENGTHS)
def test_the_same_area_in_every_unit(length, width):
    assert float(area_in2(length, width)) == pytest.approx(144 * float(area_ft2(length, width)))
    assert float(area_m2(length, width)) == pytest.approx(0.09290304 * float(area_ft2(length, width)))


@given(thickness=LENGTHS, width=LENGTHS, length=LENGTHS)
def test_board_feet_are_volume_and_thin_stock_counts_as_an_inch(thickness, width, length):
    cubic_inches = Fraction(max(thickness, TICKS_PER_INCH) * width * length, TICKS_PER_INCH**3)
    assert board_feet(thickness, width, length) == cubic_inches / 144


@given(width=LENGTHS, length=LENGTHS, more=st.integers(0, inches(12) - 1))
def test_the_tally_is_within_half_a_foot_and_drops_part_feet(width, length, more):
    whole_feet = length // inches(12) * inches(12)
    exact = Fraction(width * whole_feet, inches(12) ** 2)
    assert Fraction(-1, 2) <= exact - surface_measure(width, length) < Fraction(1, 2)
    assert surface_measure(width, whole_feet + more) == surface_measure(width, length)


@given(thickness=LENGTHS, width=LENGTHS, length=LENGTHS)
def test_a_board_is_tallied_by_its_face_times_its_nominal_thickness(thickness, width, length):
    counted = max(Fraction(thickness, TICKS_PER_INCH), Fraction(1))
    assert tally_board_feet(thickness, width, length) == surface_measure(width, length) * counted


def test_a_cubic_metre_weighs_its_density():
    assert weight_kg(mm(1000), mm(1000), mm(1000), 680) == 680
    assert weight_kg(mm(1000), mm(500), mm(18), Decimal("650.5")) == Decimal("5.8545")


# ---- bundles ----------------------------------------------------------------------------------------------

A_HALF_FOOT = (inches(6), inches(13 * 12))  # 6 1/2 square feet


def test_half_feet_go_up_and_down_by_turns():
    assert surface_measures([A_HALF_FOOT] * 4) == [7, 6, 7, 6]
    assert surface_measure(*A_HALF_FOOT) == 7


@given(boards=BOARDS)
def test_only_half_feet_make_a_bundle_differ_from_its_boards(boards):
    clear = [board for board in boards if 2 * board[0] * (board[1] // inches(12)) % inches(12)]
    assert surface_measures(clear) == [surface_measure(*board) for board in clear]


@given(boards=BOARDS)
def test_turns_keep_the_rounding_of_a_bundle_fair(boards):
    halves = [A_HALF_FOOT for _ in boards]
    assert 0 <= sum(surface_measures(halves)) - Fraction(13, 2) * len(halves) <= Fraction(1, 2)


def test_a_bundle_is_rounded_once_after_its_thickness():
    three_feet_each = [(inches("4 1/2"), inches(96))] * 3
    # 9 square feet × 1 1/4 = 11 1/4; rounded board by board it would be 4 + 4 + 4.
    assert bundle_board_feet(inches("1 1/4"), three_feet_each) == 11
    assert bundle_board_feet(inches("3/4"), three_feet_each) == 9


def test_an_export_tally_takes_half_inches_by_turns_and_drops_part_feet():
    boards = [(inches("5 1/2"), inches(107)), (inches("5 1/2"), inches(96))]
    assert export_board_feet(inches(1), boards) == Fraction((6 + 5) * 8, 12)


def test_a_bundle_of_nothing_has_no_board_feet():
    assert bundle_board_feet(inches(1), []) == export_board_feet(inches(1), []) == 0
