"""Tallies of boards as they are called out at the truck."""

import pytest

from inventory.boardlist import NotBoards, read_boards
from shared.measure import inches, mm


@pytest.mark.parametrize(
    "line",
    ["7 1/2 x 96", "7 1/2 X 96", "7 1/2×96", "7.5 * 96", "7 1/2 by 8 ft", "7-1/2\" x 8'", "190.5 mm x 96"],
)
def test_a_board_is_its_width_by_its_length_however_it_is_written(line):
    assert read_boards(line, "in") == [(inches("7 1/2"), inches(96))]


def test_a_metric_shop_writes_millimetres():
    assert read_boards("190 x 2440", "mm") == [(mm(190), mm(2440))]


def test_a_third_figure_says_how_many_are_alike():
    assert read_boards("7 x 96 x 3", "in") == [(inches(7), inches(96))] * 3


def test_every_line_is_a_board_and_empty_lines_are_none():
    text = "7 x 96\n\n  5 1/2 x 120  \r\n"
    assert read_boards(text, "in") == [(inches(7), inches(96)), (inches("5 1/2"), inches(120))]


def test_every_line_that_is_no_board_is_named():
    with pytest.raises(NotBoards) as refused:
        read_boards("7 x 96\n7\nseven x 96\n7 x 96 x 2 x 2", "in")
    assert refused.value.sentences == [
        'Line 2: "7" is not a width and a length. Write 7 1/2 x 96, or 7 1/2 x 96 x 3 for three alike.',
        'Line 3: "seven" is not a length. Write 23 1/2, 23.5 or 597 mm.',
        'Line 4: "7 x 96 x 2 x 2" is not a width and a length. '
        "Write 7 1/2 x 96, or 7 1/2 x 96 x 3 for three alike.",
    ]


@pytest.mark.parametrize("count", ["0", "-1", "1.5", "two", "9999", "²"])
def test_a_count_is_a_whole_number_above_zero(count):
    with pytest.raises(NotBoards, match="is not how many"):
        read_boards(f"7 x 96 x {count}", "in")


def test_more_boards_than_a_truck_holds_are_refused_without_making_them_all():
    with pytest.raises(NotBoards, match="more than 2,000"):
        read_boards("7 x 96 x 2000\n" * 2_000, "in")


def test_no_text_is_no_boards():
    assert read_boards(" \n", "in") == []
