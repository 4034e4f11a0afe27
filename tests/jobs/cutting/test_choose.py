"""The choice among sheets met on the way is the cheapest one that covers everything."""

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.format import read_problem
from jobs.cutting.groups import split
from jobs.cutting.search.choose import Choice
from jobs.cutting.search.kernel import ITEM_FREE
from jobs.cutting.search.pool import Pool
from jobs.cutting.search.sheets import Sheet
from jobs.cutting.search.state import table_of
from tests.jobs.cutting.test_planner import unhurried

COSTS = (3, 5)
quantities = st.lists(st.integers(1, 3), min_size=2, max_size=4)
cut_from_one = st.lists(st.integers(0, 2), min_size=4, max_size=4).filter(any)
some_sheets = st.lists(st.tuples(st.integers(0, 1), cut_from_one), min_size=1, max_size=6)


def pool_for(wanted):
    """An empty pool for so many of each part, from two sizes of sheets to buy."""
    stock = [
        {"id": f"sheet {cost}", "length": 90 + cost, "width": 90, "cost": cost, "buy": True} for cost in COSTS
    ]
    parts = [{"id": f"part {at}", "length": 9 + at, "width": 9, "quantity": q} for at, q in enumerate(wanted)]
    problem = read_problem({"stock": stock, "parts": parts})
    group = split(problem)[0][0]
    return Pool(table_of(problem, group.items, group.stock))


def drawn(source, counts):
    """A sheet with so many of each item in one row; nothing else of it matters here."""
    leaves = [(0, item, 1, 1, -1, 0, 2) for item, count in counts for _ in range(count)]
    return Sheet(source, ((-1, ITEM_FREE, 90, 90, 0, 0, 1), *leaves))


def least_cost(wanted, sheets):
    """The cheapest cover by trying: the first part that is still wanted comes from one sheet or another."""
    if not any(left > 0 for left in wanted):
        return 0
    first = next(at for at, left in enumerate(wanted) if left > 0)
    costs = [
        COSTS[source] + least_cost([left - counts.get(at, 0) for at, left in enumerate(wanted)], sheets)
        for source, counts in sheets
        if counts.get(first)
    ]
    return min(costs, default=10**6)


@settings(unhurried, max_examples=60)
@given(quantities, some_sheets)
def test_the_choice_is_the_cheapest(wanted, rows):
    pool, sheets = pool_for(wanted), []
    for source, numbers in rows:
        counts = tuple((at, n) for at, n in enumerate(numbers[: len(wanted)]) if n)
        if counts:
            sheets.append((source, dict(counts)))
            pool.note((source, counts), lambda source=source, counts=counts: drawn(source, counts))
    chosen = Choice(pool).better_than([], 10, 1000)
    least = least_cost(wanted, sheets)
    assert sum(COSTS[sheet.source] for sheet in chosen) == (least if least < 10**6 else 0)
    if chosen:
        cut = [sum(sheet.counts()[at] for sheet in chosen) for at in range(len(wanted))]
        assert cut == wanted
        # Nothing is better than the best, and what does no worse is not chosen again.
        assert Choice(pool).better_than(chosen, 10, 1000) == []


def test_a_sheet_that_cannot_be_drawn_is_not_chosen_again():
    pool = pool_for([1, 1])
    pool.note((0, ((0, 1), (1, 1))), lambda: None)
    pool.add(drawn(0, ((0, 1),)))
    pool.add(drawn(0, ((1, 1),)))
    choice = Choice(pool)
    assert choice.better_than([], 10, 1000) == []
    chosen = choice.better_than([], 10, 1000)
    assert [dict(sheet.counts()) for sheet in chosen] in ([{0: 1}, {1: 1}], [{1: 1}, {0: 1}])
