"""A layout laid on another piece: the same parts, checked anew, and the largest offcut that can be."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.cutting import objective
from jobs.cutting.format import write_plan
from jobs.cutting.layout import Layout, Node, Plan
from jobs.cutting.problem import Defect, Keep, Part, Problem, Stock
from jobs.cutting.refit import refit
from tests.outside.check_plan import Checker

KERF = 1
KEEP = Keep(6, 4, Fraction(1, 2))


def make_problem(was, now, parts, **others):
    return Problem(stock=(was, now), parts=tuple(parts), kerf=KERF, keep=KEEP, **others)


def make_stock(name, length, width, **others):
    return Stock(name, length, width, cost=20, quantity=1, **others)


def leaves_with_sizes(node, size):
    """Each leaf's kind, its id and its extents, whichever way it was cut free."""
    if node.kind != "cut":
        yield node.kind, node.id, size
    for child in node.of:
        yield from leaves_with_sizes(
            child, (child.size, size[1]) if node.cut == "crosscut" else (size[0], child.size)
        )


SHELVES = [Part("shelf", 10, 4, quantity=2, grain="length")]
# 21 × 10 with a kerf of 1: two shelves of 10 × 4 side by side leave 21 × 5.
SHELF = Node("part", 10, id="shelf")
TREE = Node("cut", cut="rip", of=(Node("cut", 4, cut="crosscut", of=(SHELF, SHELF)), Node("offcut", 5)))


def shelves_on(length, width, *, others=None, **stock):
    was, now = make_stock("was", 21, 10), make_stock("now", length, width, **stock)
    found = refit(make_problem(was, now, SHELVES, **(others or {})), TREE, was, now)
    return found and sorted(leaves_with_sizes(found, now.usable))


def shelves_and(*offcuts):
    return sorted([*offcuts, ("part", "shelf", (10, 4)), ("part", "shelf", (10, 4))])


@pytest.mark.parametrize(
    ("size", "left"),
    [
        ((21, 10), [("offcut", "", (21, 5))]),
        ((21, 15), [("offcut", "", (21, 10))]),  # wider: the offcut is
        # Longer by 11, 10 and a kerf: a strip of 32 × 5 is worth more than a block of 10 × 10.
        ((32, 10), [("offcut", "", (10, 4)), ("offcut", "", (32, 5))]),
        ((65, 10), [("offcut", "", (21, 5)), ("offcut", "", (43, 10))]),
        ((21, 8), [("waste", "", (21, 3))]),  # narrower: what is left of the offcut is not worth keeping
        ((21, 4), []),
    ],
)
def test_what_is_left_takes_up_the_difference(size, left):
    assert shelves_on(*size) == shelves_and(*left)


@pytest.mark.parametrize("size", [(20, 10), (21, 3), (10, 21)])
def test_a_piece_too_small_for_the_parts_is_none(size):
    assert shelves_on(*size) is None


def test_a_factory_edge_is_trimmed_off_first():
    assert shelves_on(23, 12, trim=1) == shelves_and(("offcut", "", (21, 5)))
    assert shelves_on(22, 11, trim=1) is None


def test_no_part_is_laid_over_a_flaw():
    flaw = Defect(2, 2, 1, 1)
    assert shelves_on(40, 30, defects=(flaw,)) is None
    beyond = Defect(30, 20, 1, 1)
    assert shelves_on(40, 30, defects=(beyond,)) is not None


def test_the_first_cut_and_the_stages_of_the_shop_are_kept_to():
    found = shelves_on(32, 15, others={"first_cut": "rip", "stages": 2})
    assert found is not None
    was, now = make_stock("was", 21, 10), make_stock("now", 32, 15)
    tree = refit(make_problem(was, now, SHELVES, first_cut="crosscut"), TREE, was, now)
    assert tree is not None
    assert tree.cut == "crosscut"


def test_another_wood_is_none():
    parts = [replace(SHELVES[0], materials=frozenset({"ash"}))]
    was, now = make_stock("was", 21, 10, material="ash"), make_stock("now", 21, 10, material="oak")
    assert refit(make_problem(was, now, parts), TREE, was, now) is None


@st.composite
def sawn(draw, length, width, deep=3):
    """A rectangle sawn up at random: its tree, and the size of each part in it."""
    along = draw(st.booleans())
    room = length if along else width
    if not deep or room < 2 * KERF + 4 or draw(st.integers(0, 3)) == 0:
        return draw(leaves(length, width))
    first = draw(st.integers(1, room - KERF - 1))
    sizes = (
        [(first, width), (room - KERF - first, width)]
        if along
        else [(length, first), (length, room - KERF - first)]
    )
    done = [draw(sawn(*size, deep - 1)) for size in sizes]
    of = tuple(tree.sized(size[0] if along else size[1]) for (tree, _), size in zip(done, sizes, strict=True))
    return Node("cut", cut="crosscut" if along else "rip", of=of), [
        size for _, sizes in done for size in sizes
    ]


@st.composite
def leaves(draw, length, width):
    if draw(st.booleans()):
        return Node("part", id=f"{length} x {width}"), [(length, width)]
    return Node("offcut" if KEEP.takes(length, width) else "waste"), []


@settings(deadline=None)
@given(data=st.data(), longer=st.integers(0, 12), wider=st.integers(0, 12))
def test_a_piece_at_least_as_large_always_serves(data, longer, wider):
    length, width = data.draw(st.integers(8, 40)), data.draw(st.integers(6, 30))
    tree, sizes = data.draw(sawn(length, width))
    was, now = make_stock("was", length, width), make_stock("now", length + longer, width + wider)
    parts = [
        Part(f"{size[0]} x {size[1]}", *size, quantity=sizes.count(size), grain="length")
        for size in set(sizes)
    ]
    problem = make_problem(was, now, parts)
    found = refit(problem, tree, was, now)
    assert found is not None
    layouts = (Layout("now", found),)
    sums = objective.amounts(problem, layouts)
    plan = Plan(layouts, rack_used=Fraction(sums.rack_used), kept=sums.kept)
    # Checked by the one that shares no code with the project.
    checker = Checker(written(problem), write_plan(problem, plan))
    assert checker.run(), checker.faults


def written(problem):
    """The problem as its format has it."""
    return {
        "kerf": KERF,
        "keep": {"length": KEEP.length, "width": KEEP.width, "rate": "0.5"},
        "stock": [
            {"id": row.id, "length": row.length, "width": row.width, "cost": str(row.cost), "quantity": 1}
            for row in problem.stock
        ],
        "parts": [
            {
                "id": part.id,
                "length": part.length,
                "width": part.width,
                "quantity": part.quantity,
                "grain": "length",
            }
            for part in problem.parts
        ],
    }
