"""The most valuable layout of a sheet, against all layouts there are, where these can be listed."""

from functools import cache
from itertools import product

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.cutting.fullest import fullest
from jobs.cutting.pricing import Way
from jobs.cutting.search.block_moves import PLAIN_BLOCKS, compiled_blocks
from tests.jobs.cutting.quick_moves import quick_moves
from tests.jobs.cutting.test_planner import unhurried
from tests.outside.sawn_sheet import worth

HOUR = 3600.0
part = st.tuples(st.integers(1, 7), st.integers(1, 7), st.integers(0, 3), st.integers(0, 30), st.booleans())
sheets = st.tuples(st.integers(1, 9), st.integers(1, 9))


def ways_of(parts):
    """The ways that parts of (long, wide, copies, value, whether it may turn) may lie, and their values."""
    ways = []
    for item, (long, wide, copies, _, turns) in enumerate(parts):
        ways.append(Way(item, long, wide, copies, False))
        if turns and long != wide:
            ways.append(Way(item, wide, long, copies, True))
    return ways, [value for _, _, _, value, _ in parts]


def most_of_all(size, ways, values):
    """The greatest value of all sets of parts that can be cut, each cut tried at each whole position."""
    limits = [0] * len(values)
    for way in ways:
        limits[way.item] = way.quantity

    @cache
    def sets(long, wide):
        found = {(0,) * len(limits)}
        for way in ways:
            if way.long <= long and way.wide <= wide and way.quantity:
                found.add(tuple(int(item == way.item) for item in range(len(limits))))
        pieces = [((at, wide), (long - at, wide)) for at in range(1, long // 2 + 1)]
        pieces += [((long, at), (long, wide - at)) for at in range(1, wide // 2 + 1)]
        for first, second in pieces:
            for pair in product(sets(*first), sets(*second)):
                together = tuple(map(sum, zip(*pair, strict=True)))
                if all(taken <= limit for taken, limit in zip(together, limits, strict=True)):
                    found.add(together)
        return found

    return max(sum(value * n for value, n in zip(values, one, strict=True)) for one in sets(*size))


@settings(unhurried, max_examples=25)
@given(sheets, st.lists(part, min_size=1, max_size=4))
@example((9, 8), [(3, 2, 3, 7, True), (5, 4, 1, 19, False), (4, 7, 1, 29, False), (2, 2, 2, 4, False)])
def test_nothing_that_can_be_cut_is_worth_more(size, parts):
    ways, values = ways_of(parts)
    found = fullest(size, ways, values, time_limit_s=HOUR, moves=PLAIN_BLOCKS)
    assert found.is_proven
    assert worth(size, ways, values, found.cuts) == found.value == most_of_all(size, ways, values)


@settings(unhurried, max_examples=5)
@given(sheets, st.lists(part, min_size=1, max_size=4), st.integers(50_000, 10**7))
def test_sizes_too_fine_for_a_grid_still_give_a_layout_and_a_bound(size, parts, scale):
    ways, values = ways_of([(long * scale, wide * scale, *others) for long, wide, *others in parts])
    large = size[0] * scale + scale // 3, size[1] * scale + scale // 2
    found = fullest(large, ways, values, time_limit_s=HOUR, most_rooms=2, moves=PLAIN_BLOCKS)
    assert worth(large, ways, values, found.cuts) == found.value
    assert found.value <= most_of_all(size, *ways_of(parts)) <= found.bound


@settings(unhurried, max_examples=15)
@given(sheets, st.lists(part, min_size=1, max_size=5), st.integers(1, 4))
def test_a_search_cut_short_says_so_by_its_bound(size, parts, rooms):
    ways, values = ways_of(parts)
    found = fullest(size, ways, values, time_limit_s=HOUR, most_rooms=rooms, moves=PLAIN_BLOCKS)
    assert worth(size, ways, values, found.cuts) == found.value
    assert found.value <= most_of_all(size, ways, values) <= found.bound


def test_compiled_or_not_the_same_layout_is_found():
    quick_moves()
    parts = [(7 + 3 * at % 11, 5 + 5 * at % 9, 1 + at % 3, 20 + 17 * at % 31, at % 2 == 0) for at in range(4)]
    ways, values = ways_of(parts)
    plain, quick = (
        fullest((16, 11), ways, values, time_limit_s=HOUR, most_rooms=2, moves=moves)
        for moves in (PLAIN_BLOCKS, compiled_blocks())
    )
    assert plain == quick


def test_no_time_still_gives_a_layout():
    ways, values = ways_of([(40, 30, 5, 12, True), (25, 20, 3, 5, True)])
    found = fullest((244, 122), ways, values, time_limit_s=0.0, moves=PLAIN_BLOCKS)
    assert 0 < found.value == worth((244, 122), ways, values, found.cuts) <= found.bound


def test_a_sheet_on_which_nothing_fits_is_worth_nothing():
    found = fullest((10, 10), [Way(0, 11, 2, 1, False)], [5])
    assert (found.value, found.bound, found.cuts) == (0, 0, None)


@pytest.mark.parametrize(
    ("size", "way", "value"),
    [
        ((0, 5), Way(0, 1, 1, 1, False), 1),
        ((5, 5), Way(0, 1, 0, 1, False), 1),
        ((5, 5), Way(0, 1, 1, 1, False), -1),
        ((5, 5), Way(0, 1, 1, 9, False), 2**48),
    ],
)
def test_sizes_and_values_that_make_no_sense_are_refused(size, way, value):
    with pytest.raises(ValueError, match=r"above zero|or more|must not be worth more"):
        fullest(size, [way], [value])
