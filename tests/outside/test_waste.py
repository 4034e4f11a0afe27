"""Waste on net and allowances before milling, against published figures and plain arithmetic (waste.csv)."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest

from jobs.yard_list import with_waste_on_net
from shared.measure import inches
from shared.models import Shop
from tests.outside.reference import row, row_id, rows

EXAMPLES = rows("waste", kind="example")
ON_NET = [example for example in EXAMPLES if example["condition"] == "addition"]
OF_GROSS = [example for example in EXAMPLES if example["condition"] != "addition"]


def figures(example) -> tuple[Fraction, Decimal]:
    net, percent = re.findall(r"\d+", example["inputs"])
    return Fraction(net), Decimal(percent) / 100


@pytest.mark.parametrize("example", ON_NET, ids=row_id)
def test_waste_is_added_to_the_net(example):
    assert with_waste_on_net(*figures(example)) == Fraction(example["expected"])


@pytest.mark.parametrize("example", OF_GROSS, ids=row_id)
def test_a_share_of_gross_is_another_figure(example):
    assert with_waste_on_net(*figures(example)) != Fraction(example["expected"])


def test_the_usual_waste_is_within_what_the_course_text_adds_for_hardwood():
    said = row("waste", "W2")
    assert Decimal(said["low_pct"]) <= Shop().waste_on_net * 100 <= Decimal(said["high_pct"])


def test_the_usual_allowances_are_within_those_of_the_how_to_page():
    assert Shop().rough_length >= inches(row("waste", "A1")["value"])
    low, high = row("waste", "A2")["value"].split(" to ")
    assert inches(low) <= Shop().rough_width <= inches(high)
