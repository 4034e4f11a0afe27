"""How far a finish goes, against published spreading rates and worked examples."""

from decimal import Decimal

import pytest

from jobs.finishing import Coating, litres, spreading_rate
from shared.units import convert
from tests.outside.reference import row, row_id, rows

UM_A_MIL = Decimal("25.4")


def coating_of(example) -> Coating:
    film = Decimal(example["dry_film"]) * (UM_A_MIL if example["film_unit"] == "mil" else 1)
    shares = (
        Decimal(example[name] or 100) / 100 for name in ("volume_solids_pct", "transfer_efficiency_pct")
    )
    return Coating(1, film, *shares)


EXAMPLES = [line for line in rows("finish", kind="example") if line["volume_solids_pct"]]


@pytest.mark.parametrize("example", EXAMPLES, ids=row_id)
def test_a_published_coverage_comes_out(example):
    rate = spreading_rate(coating_of(example))
    if example["unit"].startswith("ft2"):
        rate = convert(rate, "m^2/litre", "ft^2/gallon")
    printed = Decimal(example["expected"])
    assert abs(rate - printed) <= max(
        Decimal("0.5") * Decimal(1).scaleb(printed.as_tuple().exponent), printed / 5000
    )


def test_the_constants_are_those_of_the_bulletin():
    mil = Coating(1, UM_A_MIL, Decimal(1), Decimal(1))
    assert round(convert(spreading_rate(mil), "m^2/litre", "ft^2/gallon")) == int(
        row("finish", "F01")["expected"]
    )
    um = Coating(1, Decimal(1), Decimal(1), Decimal(1))
    assert spreading_rate(um) == Decimal(row("finish", "F02")["expected"])


def test_what_is_bought_covers_the_area_it_was_reckoned_for():
    coating = Coating(3, Decimal(28), Decimal("0.35"), Decimal("0.65"))
    area = Decimal("18.4")
    assert abs(litres(area, coating) * spreading_rate(coating) / 3 - area) < Decimal("0.000001")


def test_wet_film_times_solids_is_dry_film():
    # E05: 400 square feet a gallon is 4 mil wet
    wet = Coating(1, Decimal(row("finish", "E05")["expected"]) * UM_A_MIL, Decimal(1), Decimal(1))
    assert round(convert(spreading_rate(wet), "m^2/litre", "ft^2/gallon")) == 401  # 1604.17 ÷ 4
