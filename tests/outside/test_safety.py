"""The numbers that cautions rest on, against the published facts copied with their sources."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from jobs import cautions
from jobs.diagrams.cuts import LEAST_TO_CROSSCUT, LEAST_TO_RIP
from shared.measure import Unit, exact_ticks, inches, weight_kg
from shared.units import convert

with (Path(cautions.__file__).parent / "data" / "safety.csv").open(newline="", encoding="utf-8") as file:
    ROWS = {row["id"]: row for row in csv.DictReader(file)}


def test_every_row_names_its_source_and_how_it_is_known() -> None:
    assert ROWS
    for row in ROWS.values():
        assert row["source"]
        assert row["basis"] in ("read", "mixed", "memory", "computed")


def test_the_load_constant_is_51_lb_or_23_kg() -> None:
    # NIOSH 94-110, Applications Manual for the Revised NIOSH Lifting Equation.
    assert cautions.lifting_limit("in") == 51
    assert cautions.lifting_limit("mm") == 23


def test_the_lifting_equation_gives_its_worked_value() -> None:
    assert ROWS["L10"]["inputs"] == "H 15 in, V 30 in, D 10 in, A 0"
    assert cautions.lifting_limit("in", Decimal(15)) == Decimal(ROWS["L10"]["expected"])


def test_a_load_nearer_than_the_equation_reaches_does_not_raise_the_limit() -> None:
    assert cautions.lifting_limit("in", Decimal(5)) == 51


@pytest.mark.parametrize(
    ("row", "thickness", "is_two_to_carry"),
    [("L11", "3/4", True), ("L12", "3/4", True), ("L13", "3/4", True), ("L14", "1/2", False)],
)
def test_sheets_weigh_what_is_published_and_are_flagged_accordingly(
    row: str, thickness: str, is_two_to_carry: bool
) -> None:
    density = int(ROWS[row]["inputs"].split()[0])
    kg = weight_kg(inches(96), inches(48), inches(thickness), density)
    pounds = convert(kg, "kg", "lb")
    assert round(pounds, 1) == Decimal(ROWS[row]["value"])
    assert f"{kg:.1f} kg" == ROWS[row]["expected"]
    assert (pounds > cautions.lifting_limit("in")) == is_two_to_carry
    assert ("over 51 lb" in ROWS[row]["note"]) == is_two_to_carry


@pytest.mark.parametrize(
    ("core", "thickness", "ppm"),
    [
        ("veneer core", "3/4", "0.05"),
        ("combination core", "3/4", "0.05"),
        ("MDF", "3/4", "0.11"),
        ("medium-density fibreboard", "1/4", "0.13"),
        ("particleboard", "5/8", "0.09"),
    ],
)
def test_emission_limits_are_those_of_the_us_rule(core: str, thickness: str, ppm: str) -> None:
    # 40 CFR 770.10(b)(1) to (4).
    row = cautions.panel_limit(core, inches(thickness))
    assert row is not None
    assert cautions.facts()[row].value == ppm
    assert cautions.facts()[row].section.startswith("40 CFR 770.10(b)")


def test_dust_limits_are_those_of_the_osha_page() -> None:
    # Total 15 and respirable 5 mg/m³ (29 CFR 1910.1000), NIOSH recommends 1.
    assert [cautions.facts()[row].value for row in ("D01", "D02", "D03")] == ["15", "5", "1"]


def test_what_is_only_common_practice_says_so() -> None:
    for number in range(1, 7):
        assert cautions.facts()[f"S0{number}"].cited == "common practice, no source"


def test_what_was_only_remembered_says_so() -> None:
    assert cautions.facts()["M13"].cited == "29 CFR 1910.213(s) (from memory)"


def test_the_sequence_avoids_what_the_cautions_warn_of() -> None:
    for unit, strip, short in UNITS:
        assert LEAST_TO_RIP[unit] == exact_ticks(ROWS[strip]["value"], unit)
        assert LEAST_TO_CROSSCUT[unit] == exact_ticks(ROWS[short]["value"], unit)


UNITS: tuple[tuple[Unit, str, str], ...] = (("in", "S01", "S05"), ("mm", "S02", "S06"))
