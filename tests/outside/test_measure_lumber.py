"""Board feet and tallies against lumber_measure.csv: textbook and trade examples, each with its source."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest

from inventory.dressed import measured_thickness, measured_width
from inventory.models import Material
from shared.measure import (
    TICKS_PER_INCH,
    TICKS_PER_MM,
    area_m2,
    board_feet,
    inches,
    surface_measure,
    tally_board_feet,
)
from shared.money import cost_of
from shared.tally import bundle_board_feet, export_board_feet, surface_measures
from shared.units import convert
from tests.outside.reference import Row, decimals, row, row_id, rows

TABLE = "lumber_measure"
NOMINAL = rows(TABLE, kind="example", method="nominal")
TALLIED = rows(TABLE, kind="example", method="surface_measure")
PRICED = [example for example in rows(TABLE, kind="example") if example["price"]]
INVOICE_LINES = [line for line in rows(TABLE, kind="price_example") if line["expected_bf"]]
PER_BOARD_FOOT = {"per_bf": 1, "per_MBF": 1000}


def size(example: Row) -> tuple[int, int, int]:
    """Thickness, width and length in ticks; the table gives feet to six decimals, of lengths to 1/64 in."""
    length = Fraction(round(Fraction(example["length_ft"]) * 12 * 64), 64)
    return inches(example["thickness_in"]), inches(example["width_in"]), inches(length)


def all_board_feet(example: Row) -> Fraction:
    return board_feet(*size(example)) * int(example["pieces"])


def test_no_example_is_left_out():
    examples = rows(TABLE, kind="example")
    assert len(examples) == len(NOMINAL) + len(TALLIED) + len(rows(TABLE, method="export_bundle_tally")) == 44


@pytest.mark.parametrize("example", NOMINAL, ids=row_id)
def test_board_feet_are_as_the_book_prints_them(example):
    exact = all_board_feet(example)
    assert round(exact, 6) == Fraction(example["exact_bf"])
    assert round(exact, decimals(example["expected_bf"])) == Fraction(example["expected_bf"])


@pytest.mark.parametrize("example", PRICED, ids=row_id)
def test_lumber_costs_what_the_book_charges(example):
    price = Decimal(example["price"]) / PER_BOARD_FOOT[example["price_unit"]]
    assert cost_of(all_board_feet(example), price) == round(Decimal(example["expected_cost"]), 2)


@pytest.mark.parametrize("example", TALLIED, ids=row_id)
def test_a_hardwood_board_is_tallied_as_published(example):
    thickness, width, length = size(example)
    assert surface_measure(width, length) == int(example["surface_measure_ft2"])
    assert tally_board_feet(thickness, width, length) == Fraction(example["expected_bf"])
    assert surface_measures([(width, length)]) == [int(example["surface_measure_ft2"])]
    assert round(board_feet(thickness, width, length), 6) == Fraction(example["exact_bf"])


@pytest.mark.parametrize("example", rows(TABLE, method="export_bundle_tally"), ids=row_id)
def test_an_export_tally_is_as_published(example):
    thickness, width, length = size(example)
    assert round(export_board_feet(thickness, [(width, length)]), 6) == Fraction(example["expected_bf"])
    assert round(board_feet(thickness, width, length), 6) == Fraction(example["exact_bf"])


@pytest.mark.parametrize("line", INVOICE_LINES, ids=row_id)
def test_an_invoice_line_by_the_thousand_board_feet(line):
    price = Decimal(line["price"]) / PER_BOARD_FOOT[line["price_unit"]]
    assert cost_of(int(line["expected_bf"]), price) == Decimal(line["expected_cost"])


def test_an_invoice_of_three_lines_adds_up_before_it_is_rounded():
    invoice = row(TABLE, "P01")
    lines = [(int(feet), int(price)) for feet, price in re.findall(r"(\d+) bf @(\d+)", invoice["method"])]
    exact = sum(Fraction(feet * price, 1000) for feet, price in lines)
    assert exact == Fraction(invoice["value"])
    # The row's note: rounded line by line the total is 68.74 or 68.75.
    assert sum(cost_of(feet, Decimal(price) / 1000) for feet, price in lines) in (
        Decimal("68.74"),
        Decimal("68.75"),
    )


# ---- definitions and conversions --------------------------------------------------------------------------


def test_a_board_foot_is_144_cubic_inches():
    assert row(TABLE, "D01")["value"] == "144"
    assert board_feet(inches(1), inches(12), inches(12)) == 1
    assert board_feet(inches(2), inches(6), inches(12)) == 1


def test_a_board_foot_in_cubic_metres_by_ticks_and_by_pint():
    published = Decimal(row(TABLE, "D02")["value"])
    by_ticks = Fraction(144 * TICKS_PER_INCH**3, (1000 * TICKS_PER_MM) ** 3)
    assert by_ticks == Fraction(published)
    assert convert(Decimal(1), "board_foot", "m^3") == published
    assert convert(Decimal(1000), "board_foot", "m^3").quantize(Decimal("1E-6")) == Decimal(
        row(TABLE, "D06")["value"]
    )


def test_a_cubic_metre_and_a_cubic_foot_in_board_feet():
    assert round(convert(Decimal(1), "m^3", "board_foot"), 3) == Decimal(row(TABLE, "D03")["value"])
    assert board_feet(inches(12), inches(12), inches(12)) == int(row(TABLE, "D04")["value"])


def test_a_square_foot_in_square_metres():
    assert area_m2(inches(12), inches(12)) == Decimal(row(TABLE, "D07")["value"])
    assert convert(Decimal(1), "ft^2", "m^2") == Decimal(row(TABLE, "D07")["value"])


# ---- rules ------------------------------------------------------------------------------------------------


def test_thin_stock_counts_as_an_inch_and_thicker_as_it_is():
    assert row(TABLE, "R01")["value"] == "counts_as_1"
    assert board_feet(inches("3/8"), inches(12), inches(12)) == 1
    assert row(TABLE, "R02")["value"] == "actual_fraction"
    assert board_feet(inches("1 1/4"), inches(12), inches(12)) == Fraction(5, 4)


def test_dressed_lumber_counts_at_its_nominal_size():
    """Row R03: a 2 × 4 is tallied 2 × 4 although it measures 1 1/2 × 3 1/2."""
    assert row(TABLE, "R03")["value"] == "nominal_not_dressed"
    two_by = Material(kind="lumber", thickness_text="2", thickness=inches("1 1/2"), is_dressed=True)
    assert two_by.board_feet(inches("3 1/2"), inches(144)) == 8
    assert two_by.board_feet(inches("5 1/2"), inches(12)) == Fraction(row(TABLE, "E30")["expected_bf"])


@pytest.mark.parametrize("size", rows("lumber_thickness", group="softwood_size"), ids=row_id)
def test_a_published_dressed_size_counts_as_it_is_called(size):
    dressed = Material(
        kind="lumber",
        thickness_text=size["nominal_thickness_in"],
        thickness=inches(size["dry_thickness_in"]),
        is_dressed=True,
    )
    nominal, dry = inches(size["nominal_width_in"]), inches(size["dry_width_in"])
    assert measured_width(nominal) == dry
    assert measured_thickness(inches(size["nominal_thickness_in"])) == inches(size["dry_thickness_in"])
    assert dressed.board_feet(dry, inches(120)) == board_feet(dressed.sold_thickness, nominal, inches(120))


def test_exact_half_feet_alternate():
    assert row(TABLE, "R05")["value"] == "alternately up and down"
    half_foot = (inches(6), inches(13 * 12))
    assert surface_measures([half_foot] * 5) == [7, 6, 7, 6, 7]


def test_part_feet_of_length_are_dropped():
    assert row(TABLE, "R06")["value"] == "truncate_to_whole_foot"
    assert surface_measure(inches(12), inches(129)) == surface_measure(inches(12), inches(120)) == 10


def test_a_bundle_is_summed_before_it_is_multiplied_and_rounded():
    assert row(TABLE, "R07")["value"].startswith("sum surface measure")
    boards = [(inches(9), inches(48))] * 3  # 3 square feet each
    assert bundle_board_feet(inches("1 1/4"), boards) == 11  # 11.25, not 3 × 4


def test_the_surface_tally_is_the_board_feet_of_inch_lumber():
    assert row(TABLE, "R08")["value"].startswith("surface measure tally is")
    boards = [(inches(width), inches(96)) for width in ("6 1/4", "7", "9 1/2", "11 3/4")]
    assert bundle_board_feet(inches(1), boards) == sum(surface_measures(boards))


def test_an_export_tally_turns_half_inches_and_drops_part_feet():
    assert row(TABLE, "R10")["value"].startswith("nearest inch, exact half inch alternately")
    assert row(TABLE, "R11")["value"] == "down to whole foot"
    boards = [(inches("5 1/2"), inches(107)), (inches("5 1/2"), inches(100))]
    assert export_board_feet(inches(1), boards) == Fraction((6 + 5) * 8, 12)
