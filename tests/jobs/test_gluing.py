"""Panels glued up from staves: they add up, come from as few boards as will do, and keep clear of flaws."""

from itertools import combinations, groupby

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.gluing import Board, Rules, choose_staves, equal_staves, lengths_in, to_glue
from shared.measure import inches

RULES = Rules(
    least=inches("1 1/2"), most=inches(5), joint=inches("1/16"), trim=inches("1/2"), kerf=inches("1/8")
)
sixteenths = st.integers(1, 10_000).map(lambda number: number * inches("1/16"))
widths = st.integers(3 * 16, 12 * 16).map(lambda number: number * inches("1/16"))
lengths = st.integers(20, 130).map(inches)
racks = st.lists(st.tuples(lengths, widths, st.booleans()), min_size=0, max_size=7).map(
    lambda rows: [Board(f"B{number}", *row) for number, row in enumerate(rows)]
)
panels = st.tuples(st.integers(6, 40).map(inches), st.integers(12, 60).map(inches))


@given(panels, racks)
@settings(deadline=None)
def test_staves_add_up_to_the_panel_its_trimming_and_its_joints(panel, rack):
    width, length = panel
    staves = choose_staves(width, length, rack, RULES)
    assert sum(stave.width for stave in staves) == to_glue(width, len(staves), RULES)
    assert all(RULES.least <= stave.width <= RULES.most for stave in staves)


@given(panels, racks)
@settings(deadline=None)
def test_each_board_gives_the_staves_that_are_thought_from_it(panel, rack):
    """As many lengths as it has, each no wider with its kerfs than the board."""
    width, length = panel
    boards = {board.id: board for board in rack}
    staves = [stave for stave in choose_staves(width, length, rack, RULES) if stave.board]
    for name, theirs in groupby(staves, key=lambda stave: stave.board):
        free = [boards[name].width] * lengths_in(boards[name], length, RULES.kerf)
        for stave in sorted(theirs, key=lambda stave: -stave.width):
            at = min((i for i, room in enumerate(free) if room >= stave.width), key=lambda i: free[i])
            free[at] -= stave.width + RULES.kerf


@given(panels, racks)
@settings(deadline=None)
def test_staves_of_one_board_stand_next_to_each_other(panel, rack):
    names = [stave.board for stave in choose_staves(*panel, rack, RULES)]
    runs = [name for name, _ in groupby(names)]
    assert len(runs) == len(set(runs))


def makes(boards, width, length) -> bool:
    """Whether these boards can make a panel: every count of staves in every length tried."""
    sums = {(0, 0, 0)}  # least, most, staves
    for board in boards:
        ways = []
        count = 1
        while count * RULES.least + (count - 1) * RULES.kerf <= board.width:
            ways.append(
                (
                    count * RULES.least,
                    min(count * RULES.most, board.width - (count - 1) * RULES.kerf),
                    count,
                )
            )
            count += 1
        for _ in range(lengths_in(board, length, RULES.kerf)):
            sums |= {tuple(a + b for a, b in zip(old, way, strict=True)) for old in sums for way in ways}
            sums = {row for row in sums if row[2] <= 30}
    return any(staves and least <= to_glue(width, staves, RULES) <= most for least, most, staves in sums)


@given(st.tuples(st.integers(6, 16).map(inches), st.integers(30, 60).map(inches)), racks.map(lambda r: r[:4]))
@settings(deadline=None, max_examples=60)
def test_no_fewer_boards_would_do(panel, rack):
    width, length = panel
    used = {stave.board for stave in choose_staves(width, length, rack, RULES)}
    fewer = range(1, len(used) if "" not in used else len(rack) + 1)
    assert not any(makes(some, width, length) for count in fewer for some in combinations(rack, count))


def test_an_offcut_goes_before_a_board():
    rack = [Board("long", inches(97), inches(8)), Board("short", inches(36), inches(8), is_offcut=True)]
    assert {stave.board for stave in choose_staves(inches(6), inches(31), rack, RULES)} == {"short"}


def test_a_second_panel_takes_what_the_first_has_left():
    rack = [Board("A", inches(64), inches(8))]
    used: dict[str, int] = {}
    for _ in range(2):
        assert {stave.board for stave in choose_staves(inches(6), inches(31), rack, RULES, used)} == {"A"}
    assert {stave.board for stave in choose_staves(inches(6), inches(31), rack, RULES, used)} == {""}


@given(st.integers(0, 90).map(inches), st.integers(1, 6).map(inches), st.integers(12, 40).map(inches))
def test_no_length_lies_over_a_flaw(start, flaw, length):
    board = Board("A", inches(96), inches(6), flaws=((start, start + flaw),))
    before = (start + RULES.kerf) // (length + RULES.kerf)
    after = (inches(96) - start - flaw + RULES.kerf) // (length + RULES.kerf)
    assert lengths_in(board, length, RULES.kerf) == before + max(0, after)


@given(st.integers(inches(3), inches(80)))
def test_staves_to_be_bought_are_alike_and_in_the_shops_range(width):
    staves = equal_staves(width, RULES)
    assert sum(staves) == to_glue(width, len(staves), RULES)
    assert all(RULES.least <= stave <= RULES.most for stave in staves)


def test_a_panel_narrower_than_a_stave_is_refused():
    with pytest.raises(ValueError, match="cut it from one board"):
        equal_staves(inches("1/2"), RULES)
