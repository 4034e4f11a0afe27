"""Charts: what is below zero hangs from the line, to scale, and stays within the drawing."""

import re
from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from jobs import charts

AMOUNTS = st.decimals(-100_000, 100_000, places=2)


def rects(drawing):
    """(top, height) of each bar, and where the line lies."""
    bars = re.findall(r'<rect class="chart-bar" x="\d+" y="(-?\d+)" width="\d+" height="(\d+)"', drawing)
    (line,) = re.findall(r'<line class="chart-rule" x1="0" y1="(\d+)"', drawing)
    return [(int(top), int(height)) for top, height in bars], int(line)


@given(amounts=st.lists(AMOUNTS, min_size=1, max_size=6))
def test_bars_stand_on_the_line_or_hang_from_it(amounts):
    bars, line = rects(charts.bars([charts.Bar("Nov", amount, "$1", "") for amount in amounts], charts.PHONE))
    for amount, (top, height) in zip(amounts, bars, strict=True):
        assert top == line if amount < 0 else top + height == line
        assert top >= charts.TOP
        assert top + height <= charts.TALL - charts.FOOT
    longest = max(height for _, height in bars)
    largest = max(abs(amount) for amount in amounts)
    if largest >= 1:
        for amount, (_, height) in zip(amounts, bars, strict=True):
            assert abs(height - longest * abs(amount) / largest) <= 1


@given(amounts=st.lists(AMOUNTS, min_size=1, max_size=6))
def test_shares_lie_on_their_side_of_nothing(amounts):
    for amount, share in zip(amounts, charts.shares(amounts), strict=True):
        assert share.left + share.width <= share.zero if amount < 0 else share.left == share.zero
        assert 0 <= share.left <= share.left + share.width <= 101


def test_figures_are_within_the_drawing_also_below_zero():
    drawing = charts.bars([charts.Bar("Oct", Decimal(90), "$90"), charts.Bar("Nov", Decimal(-50), "-$50")])
    ys = [int(y) for y in re.findall(r'class="chart-figure" x="\d+" y="(\d+)"', drawing)]
    assert all(12 <= y <= charts.TALL - charts.FOOT for y in ys)
    assert ys[0] < ys[1]


def test_nothing_is_drawn_of_nothing():
    assert charts.bars([]) == charts.line([]) == ""
    assert charts.line([charts.Point(date(2026, 11, 1), Decimal(5), "$5")]) == ""
    assert charts.shares([Decimal(0)]) == [charts.NO_SHARE]
