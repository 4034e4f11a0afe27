"""An order of pieces decodes to layouts that can be sawn, whatever the shop's rules and the order are."""

from collections import Counter

from hypothesis import given, settings

from jobs.cutting import objective
from jobs.cutting.check import faults
from jobs.cutting.format import read_problem
from jobs.cutting.groups import split
from jobs.cutting.layout import Plan, Unplaced
from jobs.cutting.search.accelerate import PLAIN
from jobs.cutting.search.annealer import Annealer
from jobs.cutting.search.draw_up import layouts_of
from jobs.cutting.search.pool import Pool
from jobs.cutting.search.state import table_of
from tests.jobs.cutting.quick_moves import quick_moves
from tests.jobs.cutting.sawn_problems import sawn_problems
from tests.jobs.cutting.test_planner import unhurried

SHEET = {"id": "sheet", "length": 96, "width": 48, "cost": "92.00", "buy": True}
STEPS = 40


def annealed(problem, moves=PLAIN, steps=STEPS):
    """The sheets that each group's order decodes to after some steps, with its table."""
    for group in split(problem)[0]:
        annealer = Annealer(table_of(problem, group.items, group.stock), problem.seed, moves)
        annealer.aim_below(-1)
        annealer.begin_run([])
        annealer.steps(steps)
        yield annealer, annealer.sheets()


@settings(unhurried, max_examples=60)
@given(sawn_problems())
def test_what_is_decoded_can_be_sawn(data):
    problem = read_problem(data)
    layouts = [row for annealer, sheets in annealed(problem) for row in layouts_of(annealer.table, sheets)]
    cut = Counter()
    for row in layouts:
        cut.update([leaf.id for leaf in row.tree.leaves() if leaf.id] * row.count)
    left = [Unplaced(item.id, item.quantity - cut[item.id], "It was left out.") for item in problem.items]
    sums = objective.amounts(problem, layouts)
    money = [problem.money * amount for amount in (sums.bought, sums.rack_used, sums.kept)]
    plan = Plan(tuple(layouts), tuple(row for row in left if row.quantity > 0), *money)
    assert faults(problem, plan) == []


@settings(unhurried, max_examples=30)
@given(sawn_problems())
def test_what_was_noted_is_drawn_as_noted(data):
    for annealer, sheets in annealed(read_problem(data)):
        pool = Pool(annealer.table)
        annealer.note(pool)
        assert set(pool.sheets) == {pool.key_of(sheet) for sheet in sheets}
        for key in pool.sheets:
            drawn = pool.sheet(key)
            assert pool.can_draw(key) == (drawn is not None)
            assert drawn is None or pool.key_of(drawn) == key


@settings(unhurried, max_examples=30)
@given(sawn_problems())
def test_what_is_cut_is_what_was_counted(data):
    for annealer, sheets in annealed(read_problem(data)):
        cut = Counter()
        for sheet in sheets:
            cut.update(sheet.counts())
        area = annealer.state.items[3]
        assert sum(area[item] * number for item, number in cut.items()) == sum(annealer.log[3][: len(sheets)])
        assert sum(cut.values()) == sum(place >= 0 for place in annealer.log[0][: len(annealer.pieces)])


def make_problem(parts, **others):
    return read_problem({"kerf": "1/8", "stock": [SHEET], "parts": parts} | others)


def test_an_order_is_annealed_to_as_few_sheets_as_there_are():
    # Two parts fill a strip, seven strips a sheet; largest first as the order begins, they take two sheets.
    parts = [
        {"id": str(number), "length": 96 - 12 * number, "width": "5 7/8", "grain": "length"}
        for number in range(1, 8)
    ] + [
        {"id": f"rest {number}", "length": 12 * number - 1, "width": "5 7/8", "grain": "length"}
        for number in range(1, 8)
    ]
    (annealer, _) = next(annealed(make_problem(parts), steps=0))
    assert len(annealer.sheets()) == 2
    annealer.aim_below(2 * annealer.table.sources[0].stock.cost)
    assert annealer.steps(4000)
    assert len(annealer.sheets()) == 1


def test_compiled_moves_arrive_at_the_same_sheets():
    compiled = quick_moves()
    parts = [
        {"id": str(number), "length": 40 - number, "width": 20 - number % 7, "quantity": 2, "grain": "any"}
        for number in range(12)
    ]
    stock = [SHEET, SHEET | {"id": "half", "width": 24, "cost": "50.00"}]
    problem = make_problem(parts, stock=stock, stages=3)
    plain, quick = (next(annealed(problem, moves, 400)) for moves in (PLAIN, compiled))
    assert plain[1] == quick[1]
    assert float(plain[0].heat[0]) == float(quick[0].heat[0])
