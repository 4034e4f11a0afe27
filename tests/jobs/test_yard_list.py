"""Lumber to buy, in the yard's words: boards that do for the parts, dressed softwood by its name."""

from hypothesis import given
from hypothesis import strategies as st

from inventory.models import Material
from jobs.models import Part
from jobs.yard_list import Wanted, boards_in_words, least_boards, net_board_feet
from shared.measure import inches
from shared.models import Shop

SPRUCE = Material(kind="lumber", thickness_text="2", thickness=inches("1 1/2"), is_dressed=True)
parts = st.lists(
    st.tuples(st.integers(1, 3), st.integers(8 * 16, 120 * 16), st.integers(16, 15 * 16)),
    min_size=1,
    max_size=14,
).map(
    lambda rows: [
        Wanted(Part(), count, length * inches("1/16"), width * inches("1/16"))
        for count, length, width in rows
    ]
)


@given(parts)
def test_any_list_of_boards_is_said_in_full_and_fits_its_column(rows):
    """At most three sizes, the last of which may stand for several."""
    boards = least_boards(rows, inches("1/8"))
    assert sum(width * length for width, length in boards) >= sum(
        row.length * row.width * row.count for row in rows
    )
    words = boards_in_words(boards, Shop())
    assert len(words) < 160
    assert words.count("at least") <= 3
    assert words.count("more at least") <= 1


@given(parts)
def test_dressed_boards_are_wide_enough_as_they_measure(rows):
    boards = least_boards(rows, inches("1/8"), are_dressed=True)
    assert max(width for width, _ in boards) >= max(row.width for row in rows)
    wanted = sum(row.length * row.width * row.count for row in rows)
    assert sum(width * length for width, length in boards) >= wanted


def test_a_part_as_wide_as_a_dressed_board_asks_for_that_board():
    rows = [Wanted(Part(), 2, inches(90), inches("5 1/2"))]
    boards = least_boards(rows, inches("1/8"), are_dressed=True)
    assert boards_in_words(boards, Shop(), SPRUCE) == "two 2 × 6 at least 8 ft long"
    # 2 × 6, 90 in: 7.5 board feet each
    assert net_board_feet(SPRUCE, rows) == 15


def test_a_narrow_part_of_dressed_softwood_comes_from_a_2_by_4():
    boards = least_boards([Wanted(Part(), 1, inches(40), inches(2))], inches("1/8"), are_dressed=True)
    assert boards_in_words(boards, Shop(), SPRUCE) == "one 2 × 4 at least 4 ft long"
