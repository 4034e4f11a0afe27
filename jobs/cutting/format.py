"""The planning format (FORMAT.md): dicts in, dicts out. What makes no sense is refused, never guessed."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from jobs.cutting.layout import Kind, Layout, Node, Plan
from jobs.cutting.lengths import common_measure, read_number, write_length, write_money
from jobs.cutting.problem import Blank, Cut, Defect, Grain, Keep, Part, Problem, ProblemError, Side, Stock

Row = dict[str, Any]
DEEPEST_BLANK = 50
MOST_PIECES = 100_000


def read_problem(data: object) -> Problem:
    """The problem in a dict of the planning format. Raises ProblemError naming what, where, what would do."""
    if not isinstance(data, dict):
        raise ProblemError('a problem is an object with "stock" and "parts"')
    lengths = _Lengths(data)
    to_whole, money = lengths.to_whole, lengths.money
    keep = data.get("keep")
    return Problem(
        stock=tuple(
            _stock(row, f"stock {number}", lengths) for number, row in enumerate(_rows(data, "stock"), 1)
        ),
        parts=tuple(
            _part(row, f"part {number}", to_whole) for number, row in enumerate(_rows(data, "parts"), 1)
        ),
        blanks=tuple(_blank(row, f"blank {number}") for number, row in enumerate(_rows(data, "blanks"), 1)),
        kerf=to_whole(data.get("kerf", 0), "kerf"),
        stages=_whole_number(data.get("stages"), "stages"),
        first_cut=_first_cut(data.get("first_cut", "either")),
        keep=None if keep is None else _keep(keep, to_whole),
        unit=_unit(data.get("unit", "in")),
        measure=lengths.measure,
        money=money,
        in_fractions=lengths.in_fractions,
        time_limit_s=_seconds(data.get("time_limit_s", 5)),
        seed=_whole_number(data.get("seed", 0), "seed") or 0,
    )


class _Lengths:
    """The common measure of all lengths in a problem, and of all costs."""

    def __init__(self, data: Row) -> None:
        self.in_fractions = False
        numbers = [self._number(data.get("kerf", 0), "kerf")]
        keep = data.get("keep")
        if isinstance(keep, dict):
            numbers += [self._number(keep.get(key, 0), f"keep, {key}") for key in ("length", "width")]
        costs = []
        for number, row in enumerate(_rows(data, "stock"), 1):
            where = _named(row, f"stock {number}")
            numbers += [
                self._number(_need(row, key, where), f"{where}, {key}") for key in ("length", "width")
            ]
            numbers.append(self._number(row.get("trim", 0), f"{where}, trim"))
            for flaw in _rows(row, "defects"):
                numbers += [self._number(_need(flaw, key, where), f"{where}, defect {key}") for key in FLAW]
            costs.append(read_number(row.get("cost", 0), f"{where}, cost", "cost"))
        for number, row in enumerate(_rows(data, "parts"), 1):
            where = _named(row, f"part {number}")
            numbers += [
                self._number(_need(row, key, where), f"{where}, {key}") for key in ("length", "width")
            ]
        self.measure = common_measure(numbers)
        self.money = common_measure(costs)

    def _number(self, value: object, where: str) -> Fraction:
        self.in_fractions = self.in_fractions or (isinstance(value, str) and "/" in value)
        return read_number(value, where)

    def to_whole(self, value: object, where: str) -> int:
        return int(read_number(value, where) / self.measure)

    def cost(self, value: object, where: str) -> int:
        return int(read_number(value, where, "cost") / self.money)


FLAW = ("x", "y", "length", "width")
LEAVES: tuple[Kind, ...] = ("part", "blank", "offcut", "waste")


def _rows(data: Row, key: str) -> list[Row]:
    rows = data.get(key) or []
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise ProblemError(
            f'{key}: a list of objects is needed, such as [{{"id": "side", "length": 30, "width": 12}}]'
        )
    return rows


def _need(row: Row, key: str, where: str) -> object:
    if row.get(key) is None:
        raise ProblemError(f"{where}: no {key}; write one, such as 23 1/2")
    return row[key]


def _named(row: Row, where: str) -> str:
    return f"{where.split()[0]} {row['id']!r}" if isinstance(row.get("id"), str) else where


def _id(row: Row, where: str) -> str:
    if not isinstance(row.get("id"), str) or not row["id"]:
        raise ProblemError(f'{where}: no id; give it a name of its own, such as "side"')
    return str(row["id"])


def _whole_number(value: object, where: str) -> int | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ProblemError(f"{where}: {value!r} is not a whole number; write 1, 2, 3, or leave it out")
    number = read_number(value, where, "whole number")
    if number.denominator != 1:
        raise ProblemError(f"{where}: {value!r} is not a whole number; write 1, 2, 3, or leave it out")
    return int(number)


def _choice(value: object, where: str, choices: tuple[str, ...]) -> str:
    if value not in choices:
        raise ProblemError(f"{where}: {value!r} is none of {', '.join(choices)}")
    return str(value)


def _unit(value: object) -> str:
    return _choice(value, "unit", ("in", "mm"))


def _first_cut(value: object) -> Cut | None:
    chosen = _choice("either" if value is None else value, "first_cut", ("rip", "crosscut", "either"))
    return None if chosen == "either" else chosen  # type: ignore[return-value]


def _seconds(value: object) -> float:
    seconds = float(read_number(5 if value is None else value, "time_limit_s", "number of seconds"))
    if seconds < 0:
        raise ProblemError("time_limit_s: below zero; write how many seconds the planner may take, such as 5")
    return seconds


def _keep(row: object, to_whole: Callable[[object, str], int]) -> Keep:
    if not isinstance(row, dict):
        raise ProblemError('keep: an object is needed, such as {"length": 12, "width": 4, "rate": "0.5"}')
    return Keep(
        to_whole(row.get("length", 0), "keep, length"),
        to_whole(row.get("width", 0), "keep, width"),
        read_number(row.get("rate", 1), "keep, rate", "rate"),
    )


def _stock(row: Row, where: str, lengths: _Lengths) -> Stock:
    name, where = _id(row, where), _named(row, where)
    to_whole = lengths.to_whole
    material = row.get("material")
    if material is not None and not isinstance(material, str):
        raise ProblemError(f'{where}: a piece is of one material; write its name, such as "ash ply 3/4"')
    if not isinstance(row.get("buy", False), bool):
        raise ProblemError(f"{where}: buy is true or false")
    return Stock(
        id=name,
        length=to_whole(row["length"], f"{where}, length"),
        width=to_whole(row["width"], f"{where}, width"),
        trim=to_whole(row.get("trim", 0), f"{where}, trim"),
        cost=lengths.cost(row.get("cost", 0), f"{where}, cost"),
        buy=row.get("buy", False),
        quantity=_whole_number(row.get("quantity"), f"{where}, quantity"),
        grained=_choice(row.get("grain", "length"), f"{where}, grain", ("length", "none")) == "length",
        material=material or None,
        defects=tuple(_defect(flaw, where, to_whole) for flaw in _rows(row, "defects")),
    )


def _defect(row: Row, where: str, to_whole: Callable[[object, str], int]) -> Defect:
    x, y, length, width = (to_whole(row[key], f"{where}, defect {key}") for key in FLAW)
    if length < 0 or width < 0:
        raise ProblemError(f"{where}: a defect has a size below zero; write how long and wide it is")
    return Defect(x, y, length, width)


def _part(row: Row, where: str, to_whole: Callable[[object, str], int]) -> Part:
    name, where = _id(row, where), _named(row, where)
    return Part(
        id=name,
        length=to_whole(row["length"], f"{where}, length"),
        width=to_whole(row["width"], f"{where}, width"),
        quantity=_quantity(row, where),
        grain=_grain(row, where, "any"),
        materials=_materials(row.get("material"), where),
    )


def _quantity(row: Row, where: str) -> int:
    quantity = _whole_number(row.get("quantity", 1), f"{where}, quantity")
    if quantity is None or quantity > MOST_PIECES:
        raise ProblemError(f"{where}: quantity {row.get('quantity')!r}; write a number up to {MOST_PIECES}")
    return quantity


def _grain(row: Row, where: str, usual: str) -> Grain:
    value = row.get("grain")
    return _choice(usual if value is None else value, f"{where}, grain", ("length", "width", "any"))  # type: ignore[return-value]


def _materials(value: object, where: str) -> frozenset[str] | None:
    names = [value] if isinstance(value, str) else value
    if names is None or names == [] or names == [""]:
        return None
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise ProblemError(f'{where}: material is a name or a list of names, such as ["ash", "poplar"]')
    return frozenset(names)


def _blank(row: Row, where: str) -> Blank:
    name, where = _id(row, where), _named(row, where)
    tree = _side(row.get("tree"), where, DEEPEST_BLANK)
    return Blank(name, tree, _quantity(row, where), _grain(row, where, "length"))


def _side(tree: object, where: str, deepest: int) -> str | Side:
    if isinstance(tree, str):
        return tree
    if not deepest:
        raise ProblemError(f"{where}: its tree is more than {DEEPEST_BLANK} cuts deep")
    if not isinstance(tree, dict) or not isinstance(tree.get("of"), list) or not tree["of"]:
        raise ProblemError(
            f'{where}: a tree is a part\'s id or {{"cut": "rip", "of": [...]}} with something in it'
        )
    cut = _choice(tree.get("cut"), f"{where}, cut", ("rip", "crosscut"))
    return Side(cut, tuple(_side(child, where, deepest - 1) for child in tree["of"]))  # type: ignore[arg-type]


def write_plan(problem: Problem, plan: Plan) -> Row:
    """The plan as a dict of the planning format; sizes are exact texts."""
    return {
        "status": "optimal" if plan.is_optimal else "feasible",
        "figures": {
            "bought": write_money(plan.bought),
            "rack_used": write_money(plan.rack_used),
            "kept": write_money(plan.kept),
            "bought_bound": write_money(plan.bought_bound, down=True),
            "seconds": round(plan.seconds, 3),
        },
        "layouts": [_written_layout(problem, layout) for layout in plan.layouts],
        "unplaced": [{"id": row.id, "quantity": row.quantity, "why": row.why} for row in plan.unplaced],
    }


def read_tree(problem: Problem, row: Row) -> Node:
    """A layout's tree as write_tree writes it. Raises ProblemError where a size is none in the problem's measure."""
    size = 0
    if "size" in row:
        exact = read_number(row["size"], "a layout, size") / problem.measure
        if exact.denominator != 1:
            raise ProblemError(f"a layout, size: {row['size']!r} is no size of this problem; plan again")
        size = int(exact)
    if "cut" in row:
        return Node("cut", size, row["cut"], tuple(read_tree(problem, child) for child in row["of"]))
    kind: Kind = next(kind for kind in LEAVES if kind in row)
    name = row[kind] if kind in ("part", "blank") else ""
    return Node(kind, size, id=name, turned=bool(row.get("turned")))


def write_tree(problem: Problem, tree: Node) -> Row:
    """A layout's tree as a dict of the planning format; sizes are exact texts."""
    return _written_node(problem, tree, is_root=True)


def _written_layout(problem: Problem, layout: Layout) -> Row:
    return {
        "stock": layout.stock,
        "count": layout.count,
        "tree": write_tree(problem, layout.tree),
    }


def _written_node(problem: Problem, node: Node, *, is_root: bool = False) -> Row:
    row: Row = {}
    if not is_root:
        row["size"] = write_length(node.size * problem.measure, in_fractions=problem.in_fractions)
    if node.kind == "cut":
        row |= {"cut": node.cut, "of": [_written_node(problem, child) for child in node.of]}
    elif node.kind in ("offcut", "waste"):
        row[node.kind] = True
    else:
        row[node.kind] = node.id
        if node.turned:
            row["turned"] = True
    return row
