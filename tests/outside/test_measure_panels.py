"""Sizes, weights and coverage against panels.csv and finish.csv."""

from decimal import Decimal

import pytest

from shared.measure import format_length, format_weight, inches, mm, parse_length, weight_kg
from shared.units import convert
from tests.outside.reference import Row, decimals, row, row_id, rows

SIZES = rows("panels", kind="sheet_size")
THICKNESSES = [row for row in rows("panels", kind="thickness") if row["thickness_nominal_in"]]
WEIGHTS = rows("panels", kind="weight_example")


@pytest.mark.parametrize("size", SIZES, ids=row_id)
@pytest.mark.parametrize("side", ["length", "width"])
def test_a_sheet_size_reads_the_same_in_inches_and_millimetres(size, side):
    in_inches, in_mm = size[f"{side}_in"], size[f"{side}_mm"]
    if size["designation"].endswith("mm"):
        assert rounded(format_length(mm(in_mm), "in"), in_inches) == Decimal(in_inches)
    else:
        assert Decimal(format_length(inches(in_inches), "mm")) == Decimal(in_mm)


@pytest.mark.parametrize("thickness", THICKNESSES, ids=row_id)
@pytest.mark.parametrize("limit", ["nominal", "min", "max"])
def test_a_plywood_thickness_reads_the_same_in_inches_and_millimetres(thickness, limit):
    in_inches, in_mm = thickness[f"thickness_{limit}_in"], thickness[f"thickness_{limit}_mm"]
    # Inches are printed to three or four decimals, millimetres to two, each from what it was before.
    off_by_rounding = Decimal("0.0005") * Decimal("25.4") + Decimal("0.0055")
    shown = Decimal(format_length(parse_length(in_inches, "in"), "mm"))
    assert abs(shown - Decimal(in_mm)) <= off_by_rounding


@pytest.mark.parametrize("example", WEIGHTS, ids=row_id)
def test_a_sheet_weighs_what_its_density_says(example: Row):
    kg = weight_kg(
        inches(example["length_in"]),
        inches(example["width_in"]),
        inches(example["thickness_nominal_in"]),
        Decimal(example["density_kg_m3"]),
    )
    printed_kg, printed_lb = (Decimal(text.split()[0]) for text in example["value"].split(" / "))
    assert round(kg, 1) == printed_kg
    assert round(convert(kg, "kg", "lb"), 1) == printed_lb
    assert format_weight(kg, "in") == f"{printed_lb:.0f} lb"


def test_a_gallon_and_a_litre_cover_what_the_bulletins_say():
    assert round(convert(Decimal(1), "gallon/thou", "ft^2")) == int(row("finish", "F01")["expected"])
    assert convert(Decimal(1), "liter/micrometer", "m^2") == int(row("finish", "F02")["expected"])
    film = convert(1 / Decimal(400), "gallon/ft^2", "thou")
    assert round(film, 1) == Decimal(row("finish", "E05")["expected"])


def rounded(figure: str, like: str) -> Decimal:
    return round(Decimal(figure), decimals(like))
