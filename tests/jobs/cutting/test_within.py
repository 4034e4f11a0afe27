"""Layouts that cut no part too often, and dives among them."""

from collections import Counter
from itertools import islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.columns import Columns
from jobs.cutting.dive import Dive
from jobs.cutting.format import read_problem
from jobs.cutting.groups import split
from jobs.cutting.pricers import Pricers
from jobs.cutting.pricing import Halves, Pricer, Way, leaves
from jobs.cutting.search import closing
from jobs.cutting.within import WithinPricer
from tests.jobs.cutting.quick_moves import quick_moves

EXACT = 10**9

parts = st.lists(
    st.tuples(st.integers(1, 20), st.integers(1, 15), st.integers(1, 30), st.integers(1, 4), st.booleans()),
    min_size=1,
    max_size=5,
)


def ways_of(parts):
    """Ways to lie, some parts turned as well."""
    ways = [Way(at, length, width, copies, False) for at, (length, width, _, copies, _) in enumerate(parts)]
    turned = [
        Way(at, width, length, copies, True)
        for at, (length, width, _, copies, may_turn) in enumerate(parts)
        if may_turn
    ]
    return ways + turned


def price_of(parts):
    return [price for _, _, price, _, _ in parts]


def can_be_sawn(cuts, long, wide):
    """Whether what is cut off first, and then the rest, lies within the rectangle."""
    if cuts is None:
        return True
    if isinstance(cuts, Halves):
        size = long if cuts.axis == 0 else wide
        halves = [(cuts.size, wide), (long - cuts.size, wide)]
        if cuts.axis == 1:
            halves = [(long, cuts.size), (long, wide - cuts.size)]
        return cuts.size < size and all(
            can_be_sawn(half, *room) for half, room in zip((cuts.first, cuts.second), halves, strict=True)
        )
    return cuts.long <= long and cuts.wide <= wide


@settings(deadline=None, max_examples=80)
@given(parts, st.integers(15, 30), st.integers(10, 25), st.data())
def test_no_part_is_cut_more_often_than_is_left(parts, long, wide, data):
    left = [data.draw(st.integers(0, copies)) for _, _, _, copies, _ in parts]
    pricer = WithinPricer(ways_of(parts), long, wide, EXACT, closing.close_within)
    pricer.price(price_of(parts), left)
    cuts = next(pricer.good_cuts(long, wide, 1), None)
    counts = Counter(way.item for way in leaves(cuts))
    assert all(count <= left[item] for item, count in counts.items())
    assert sum(price_of(parts)[item] * count for item, count in counts.items()) == pricer.value(long, wide)
    assert can_be_sawn(cuts, long, wide)


@settings(deadline=None, max_examples=40)
@given(parts, st.integers(15, 30), st.integers(10, 25))
def test_without_end_of_copies_nothing_is_worth_more(parts, long, wide):
    many = [Way(way.item, way.long, way.wide, 10**6, way.turned) for way in ways_of(parts)]
    pricers = Pricer(many, long, wide, EXACT), WithinPricer(many, long, wide, EXACT, closing.close_within)
    for pricer in pricers:
        pricer.price(price_of(parts))
    assert pricers[0].value(long, wide) == pricers[1].value(long, wide)


@settings(deadline=None, max_examples=30)
@given(parts, st.integers(15, 60), st.integers(10, 40))
def test_compiled_and_plain_layouts_are_the_same(parts, long, wide):
    ways, prices = ways_of(parts), price_of(parts)
    plain = WithinPricer(ways, long, wide, EXACT, closing.close_within)
    quick = WithinPricer(ways, long, wide, EXACT, quick_moves().close_within)
    for pricer in (plain, quick):
        pricer.price(prices)
    assert list(plain.good_cuts(long, wide, 1)) == list(quick.good_cuts(long, wide, 1))


def make_dive(goal):
    """Six parts that fill two sheets of 12 × 10 and one of 9 × 8, and no cheaper mix."""
    sizes = [(12, 6), (12, 4), (7, 10), (5, 10), (9, 5), (9, 3)]
    stock = [
        {"id": "large", "length": 12, "width": 10, "cost": 120, "buy": True},
        {"id": "small", "length": 9, "width": 8, "cost": 72, "buy": True},
    ]
    listed = [
        {"id": str(at), "length": long, "width": wide, "grain": "length"}
        for at, (long, wide) in enumerate(sizes)
    ]
    problem = read_problem({"stock": stock, "parts": listed})
    group = split(problem)[0][0]
    pricers = Pricers(problem, group, EXACT, closing.close_within)
    return Dive(Columns(problem, group), pricers, int(goal / problem.money)), problem.money


@pytest.mark.parametrize("goal", [312, 400])
def test_a_dive_ends_within_its_goal(goal):
    dive, money = make_dive(goal)
    for _ in islice(dive.steps(), 2000):
        pass
    assert not dive.failed and not any(dive.left)
    assert dive.spent * money <= goal


def test_no_dive_ends_below_what_the_parts_take():
    dive, _ = make_dive(311)
    for _ in islice(dive.steps(), 300):
        pass
    assert dive.failed or any(dive.left)
