"""Mixes of sheets: which are tried next, and annealing to cut all from one of them."""

from collections import Counter
from itertools import islice
from math import inf

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting.format import read_problem
from jobs.cutting.groups import split
from jobs.cutting.problem import Stock
from jobs.cutting.proofs import Proof
from jobs.cutting.search.accelerate import PLAIN
from jobs.cutting.search.annealer import Annealer
from jobs.cutting.search.mixes import Mixes
from jobs.cutting.search.pool import Pool
from jobs.cutting.search.state import table_of

rows = st.lists(st.tuples(st.integers(0, 9), st.none() | st.integers(0, 4)), min_size=2, max_size=4)


def make_stock(rows):
    return [
        Stock(str(at), 10, 10, cost=cost, buy=True, quantity=quantity)
        for at, (cost, quantity) in enumerate(rows)
    ]


@settings(deadline=None, max_examples=40)
@given(rows, st.data())
def test_a_mix_to_try_is_cheaper_keeps_to_the_stock_and_is_refused_by_no_proof(rows, data):
    stock = make_stock(rows)
    used = tuple(data.draw(st.integers(0, 3 if most is None else most)) for _, most in rows)
    spent = sum(row.cost * number for row, number in zip(stock, used, strict=True))
    proof = Proof(data.draw(st.integers(0, 9)), tuple(data.draw(st.integers(0, 5)) for _ in rows))
    mixes = Mixes(stock, 0)
    named = list(islice(iter(lambda: mixes.next(used, spent, [proof]), None), 12))
    for mix in named:
        assert sum(row.cost * number for row, number in zip(stock, mix, strict=True)) < spent
        assert all(
            row.quantity is None or number <= row.quantity for row, number in zip(stock, mix, strict=True)
        )
        assert not proof.refuses(mix)
    assert max(Counter(named).values(), default=1) == 1


def make_table(quantity=1):
    stock = [
        {"id": "large", "length": 12, "width": 10, "cost": 120, "buy": True},
        {"id": "small", "length": 9, "width": 8, "cost": 72, "buy": True},
        {"id": "offcut", "length": 4, "width": 4, "cost": 3, "quantity": quantity},
    ]
    sizes = [(12, 6), (12, 4), (7, 10), (5, 10), (9, 5), (9, 3), (4, 4)]
    parts = [
        {"id": str(at), "length": long, "width": wide, "grain": "length"}
        for at, (long, wide) in enumerate(sizes)
    ]
    problem = read_problem({"stock": stock, "parts": parts})
    group = split(problem)[0][0]
    return table_of(problem, group.items, group.stock), problem.money


def run_of(mix, quantity=1):
    """What annealing of a mix uses of each stock, where it cuts everything."""
    table, money = make_table(quantity)
    annealer = Annealer(table, 0, PLAIN)
    annealer.begin_run([])
    annealer.begin_run_of(mix, [], 2000)
    annealer.aim_below(int(500 / money))
    while annealer.steps_left > 0:
        if annealer.steps(25):
            return Counter(table.sources[sheet.source].stock.id for sheet in annealer.sheets())
    return None


def test_all_is_cut_from_the_mix_that_holds_it():
    assert run_of({0: 2, 1: 1}) == {"large": 2, "small": 1, "offcut": 1}


def test_no_more_is_taken_than_the_mix_and_the_rack_have():
    assert run_of({0: 2}) is None
    assert run_of({}) is None
    assert run_of({0: 2, 1: 1}, quantity=0) is None


def test_what_one_run_noted_is_drawn_while_another_keeps_to_a_mix():
    table, _ = make_table()
    annealer = Annealer(table, 0, PLAIN)
    annealer.begin_run([])
    annealer.steps(200)
    before, after = Pool(table), Pool(table)
    annealer.note(before)
    annealer.noted = inf
    annealer.note(after)
    drawn = [before.sheet(key) for key in before.sheets]
    assert any(sheet is not None and table.sources[sheet.source].stock.buy for sheet in drawn)
    annealer.begin_run_of({}, [], 100)
    assert [after.sheet(key) for key in after.sheets] == drawn
