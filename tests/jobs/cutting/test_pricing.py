"""The best value of a rectangle: positions of one piece alone, and tables closed one rectangle after the other."""

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.cutting.pricing import Pricer, Way, close_by_rows, leaves
from jobs.cutting.search import closing
from tests.jobs.cutting.quick_moves import quick_moves

EXACT = 10**9
NO_END = 10**6

parts = st.lists(
    st.tuples(st.integers(1, 40), st.integers(1, 30), st.integers(1, 30)), min_size=1, max_size=5
)


def make_pricer(parts, long, wide, *, copies=NO_END, is_alone=False):
    ways = [Way(at, length, width, copies, False) for at, (length, width, _) in enumerate(parts)]
    pricer = Pricer(ways, long, wide, EXACT, is_alone=is_alone)
    pricer.price([price for _, _, price in parts])
    return pricer


@settings(deadline=None, max_examples=60)
@given(parts, st.integers(10, 60), st.integers(10, 40))
def test_a_piece_alone_holds_as_much_as_one_among_others(parts, long, wide):
    among = make_pricer(parts, long, wide)
    alone = make_pricer(parts, long, wide, is_alone=True)
    assert alone.value(long, wide) == among.value(long, wide)
    assert len(alone.along.points) <= 2 * len(among.along.points)


@st.composite
def sawn_up(draw):
    """A piece sawn up at random: its size, and the parts that came of it."""

    def saw(long, wide, left):
        if left == 0 or max(long, wide) < 4:
            return [(long, wide)]
        along = draw(st.booleans()) if min(long, wide) >= 4 else long > wide
        at = draw(st.integers(1, (long if along else wide) - 1))
        pieces = ((at, wide), (long - at, wide)) if along else ((long, at), (long, wide - at))
        return [part for piece in pieces for part in saw(*piece, left - 1)]

    long, wide = draw(st.integers(8, 60)), draw(st.integers(8, 40))
    return long, wide, saw(long, wide, 3)


@settings(deadline=None, max_examples=150)
@given(sawn_up(), st.data())
def test_what_was_sawn_from_a_piece_alone_is_never_valued_less(sawn, data):
    long, wide, sizes = sawn
    # A part may be shorter than the piece it was sawn from.
    cut = [(data.draw(st.integers(1, a)), data.draw(st.integers(1, b))) for a, b in sizes]
    parts = [(a, b, data.draw(st.integers(1, 30))) for a, b in cut]
    pricer = make_pricer(parts, long, wide, copies=1, is_alone=True)
    assert pricer.value(long, wide) >= sum(price for _, _, price in parts)


@settings(deadline=None, max_examples=60)
@given(parts, st.integers(10, 60), st.integers(10, 40), st.integers(1, 3))
def test_the_layout_of_a_piece_alone_is_worth_its_value_and_fits(parts, long, wide, copies):
    pricer = make_pricer(parts, long, wide, copies=copies, is_alone=True)
    ways = list(leaves(pricer.cuts(long, wide)))
    assert sum(parts[way.item][2] for way in ways) == pricer.value(long, wide)
    assert sum(way.long * way.wide for way in ways) <= long * wide


@settings(deadline=None, max_examples=40)
@given(parts, st.integers(10, 40), st.integers(10, 30), st.booleans())
@example(parts=[(3, 30, 2), (5, 30, 4)], long=40, wide=30, is_alone=True)
def test_one_rectangle_after_the_other_closes_as_whole_rows_do(parts, long, wide, is_alone):
    by_rows, one_by_one = (make_pricer(parts, long, wide, is_alone=is_alone) for _ in range(2))
    prices = [price for _, _, price in parts]
    one_by_one.price(prices, close=closing.close)
    by_rows.price(prices, close=close_by_rows)
    assert np.array_equal(one_by_one.best, by_rows.best)


@settings(deadline=None, max_examples=40)
@given(parts, st.integers(10, 120), st.integers(10, 90))
def test_compiled_and_plain_tables_are_the_same(parts, long, wide):
    plain, quick = (make_pricer(parts, long, wide, is_alone=True) for _ in range(2))
    quick.price([price for _, _, price in parts], close=quick_moves().close)
    assert np.array_equal(plain.best, quick.best)
