"""Reading and writing the planning format: exact, and nothing guessed."""

from fractions import Fraction

import pytest

from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.layout import Layout, Node, Plan
from jobs.cutting.lengths import read_number, write_length
from jobs.cutting.problem import ProblemError


def make_problem(**others):
    sheet = {"id": "sheet", "length": 96, "width": 48, "trim": "1/4", "cost": "92.00", "buy": True}
    side = {"id": "side", "length": "34 1/2", "width": "23 1/4", "quantity": 2, "grain": "length"}
    return {"unit": "in", "kerf": "1/8", "stock": [sheet], "parts": [side]} | others


def make_stock(**others):
    return {"id": "sheet", "length": 96, "width": 48} | others


def make_part(**others):
    return {"id": "side", "length": 30, "width": 12} | others


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        (12, 12),
        (12.5, Fraction(25, 2)),
        (0.1, Fraction(1, 10)),
        ("12.5", Fraction(25, 2)),
        ("3/4", Fraction(3, 4)),
        ("23 1/2", Fraction(47, 2)),
        ("23-1/2", Fraction(47, 2)),
        (1e-07, Fraction(1, 10**7)),
    ],
)
def test_a_length_is_read_exactly(written, meant):
    assert read_number(written, "here") == meant


@pytest.mark.parametrize(
    "written", ["23 1/2 x", "", None, True, "1/0", float("nan"), float("inf"), [1], "1e999"]
)
def test_what_is_no_length_is_refused_with_an_example(written):
    with pytest.raises(
        ProblemError, match=r"part 'side', length: .* is not a length\. Write 23 1/2, 23\.5 or 597"
    ):
        read_problem(
            make_problem(parts=[make_part(length=written)] if written is not None else [make_part(length="")])
        )


def test_all_lengths_become_whole_numbers_of_the_largest_common_measure():
    problem = read_problem(make_problem())
    assert problem.measure == Fraction(1, 8)
    assert (problem.stock[0].length, problem.parts[0].width, problem.kerf) == (768, 186, 1)


@pytest.mark.parametrize(
    ("others", "said"),
    [
        ({"kerf": "-1/8"}, "kerf"),
        ({"stages": 0}, "stages"),
        ({"stages": "1 1/2"}, "stages"),
        ({"first_cut": "diagonal"}, "first_cut"),
        ({"unit": "ell"}, "unit"),
        ({"time_limit_s": -1}, "time_limit_s"),
        ({"keep": {"length": -1}}, "keep"),
        ({"keep": {"rate": "1.5"}}, "rate"),
        ({"keep": 5}, "keep"),
        ({"stock": "sheet"}, "stock"),
        ({"stock": [make_stock(), make_stock()]}, "twice"),
        ({"parts": [make_part(), make_part()]}, "twice"),
        ({"stock": [make_stock(width=0)]}, "above zero"),
        ({"stock": [make_stock(length=None)]}, "no length"),
        ({"stock": [make_stock(trim=24)]}, "trim"),
        ({"stock": [make_stock(trim=-1)]}, "trim"),
        ({"stock": [make_stock(cost=-1)]}, "cost"),
        ({"stock": [make_stock(quantity=-1)]}, "quantity"),
        ({"stock": [make_stock(quantity=1.5)]}, "quantity"),
        ({"stock": [make_stock(buy="yes")]}, "buy"),
        ({"stock": [make_stock(grain="width")]}, "grain"),
        ({"stock": [make_stock(material=["ash"])]}, "material"),
        ({"stock": [make_stock(defects=[{"x": 1, "y": 1, "length": 1}])]}, "no width"),
        ({"parts": [make_part(length=-3)]}, "above zero"),
        ({"parts": [make_part(quantity=-1)]}, "quantity"),
        ({"parts": [make_part(grain="up")]}, "grain"),
        ({"parts": [{"length": 3, "width": 2}]}, "id"),
        ({"parts": [make_part(material=7)]}, "material"),
        ({"blanks": [{"id": "set", "tree": {"cut": "rip", "of": ["side", "door"]}}]}, "'door'"),
        ({"blanks": [{"id": "set", "tree": {"cut": "rip", "of": ["side", "side"]}}]}, "'side'"),
        ({"blanks": [{"id": "side", "tree": "side"}]}, "side"),
        ({"blanks": [{"id": "set", "tree": {"cut": "rip", "of": []}}]}, "tree"),
        ({"blanks": [{"id": "set", "tree": {"cut": "mitre", "of": ["side"]}}]}, "cut"),
    ],
)
def test_a_problem_that_makes_no_sense_is_refused_saying_where(others, said):
    parts = {"parts": [make_part()]} if "blanks" in others else {}
    with pytest.raises(ProblemError, match=said):
        read_problem(make_problem(**parts, **others))


@pytest.mark.parametrize("data", [None, [], "plan", 3])
def test_what_is_no_object_is_refused(data):
    with pytest.raises(ProblemError, match="an object"):
        read_problem(data)


def test_a_blank_is_as_large_as_its_parts_and_the_kerfs_between_them():
    parts = [make_part(id=name, length=18, width=7) for name in ("left", "right")]
    parts.append(make_part(id="top", length=5, width=20, grain="width"))
    tree = {"cut": "crosscut", "of": ["top", {"cut": "rip", "of": ["left", "right"]}]}
    problem = read_problem(make_problem(parts=parts, blanks=[{"id": "set", "tree": tree}]))
    # 20 + 1/8 + 18 long; the wider of 5 and 7 + 1/8 + 7 wide. Worked by hand, in eighths.
    assert [(item.id, item.length, item.width) for item in problem.items] == [("set", 305, 113)]


def test_sizes_are_written_as_shop_fractions_where_fractions_came_in():
    problem = read_problem(make_problem())
    tree = Node("cut", cut="rip", of=(Node("waste", 186), Node("waste", 193)))
    plan = write_plan(problem, Plan((Layout("sheet", tree),)))
    assert [child["size"] for child in plan["layouts"][0]["tree"]["of"]] == ["23 1/4", "24 1/8"]


def test_sizes_are_written_as_decimals_where_decimals_came_in():
    assert write_length(Fraction(5969, 10), in_fractions=False) == "596.9"
    assert write_length(Fraction(1, 3), in_fractions=False) == "1/3"
