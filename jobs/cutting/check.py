"""Does a plan hold? Every size recomputed from the cuts, in whole numbers, sharing no code with the search.

A search never vouches for itself: what it returns is checked here before anyone sees it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from jobs.cutting.layout import Layout, Node, Plan
from jobs.cutting.problem import Blank, Cut, Part, Problem, Side, Stock


def faults(problem: Problem, plan: Plan) -> list[str]:
    """What is wrong with the plan, one sentence a fault; empty when it is sound.

    Sizes in the texts are in the problem's measure.
    """
    book = _Book(
        problem,
        {stock.id: stock for stock in problem.stock},
        {part.id: part for part in problem.parts},
        {blank.id: blank for blank in problem.blanks},
    )
    for number, layout in enumerate(plan.layouts, 1):
        _check_layout(book, layout, f"layout {number}")
    _check_counts(book, plan)
    _check_figures(book, plan)
    return book.faults


@dataclass(slots=True)
class _Book:
    """What is counted while the layouts are walked through."""

    problem: Problem
    stock: dict[str, Stock]
    parts: dict[str, Part]
    blanks: dict[str, Blank]
    faults: list[str] = field(default_factory=list)
    cut: Counter[str] = field(default_factory=Counter)
    used: Counter[str] = field(default_factory=Counter)
    kept: Fraction = Fraction(0)

    def fault(self, where: str, text: str) -> None:
        self.faults.append(f"{where}: {text}")


@dataclass(frozen=True, slots=True)
class _Piece:
    """A rectangle on a sheet while it is sawn: its corner and extents, and how often cuts have turned."""

    x: int
    y: int
    long: int
    wide: int
    turns: int = 0
    last_cut: Cut | None = None


@dataclass(frozen=True, slots=True)
class _Sheet:
    stock: Stock
    where: str
    times: int


def _check_layout(book: _Book, layout: Layout, where: str) -> None:
    stock = book.stock.get(layout.stock)
    if stock is None:
        book.fault(where, f"there is no stock {layout.stock!r}")
        return
    if layout.count < 1:
        book.fault(where, f"is to be cut {layout.count} times")
    book.used[stock.id] += layout.count
    inside = _Piece(stock.trim, stock.trim, stock.length - 2 * stock.trim, stock.width - 2 * stock.trim)
    first = book.problem.first_cut
    if layout.tree.kind == "cut" and first is not None and layout.tree.cut != first:
        book.fault(where, f"the first cut is a {layout.tree.cut}, a {first} is asked for")
    _check_piece(book, _Sheet(stock, where, layout.count), layout.tree, inside)


def _check_piece(book: _Book, sheet: _Sheet, node: Node, piece: _Piece) -> None:
    if piece.long <= 0 or piece.wide <= 0:
        book.fault(sheet.where, f"a piece of no size at {piece.x}, {piece.y}")
    elif node.kind == "cut":
        _check_cut(book, sheet, node, piece)
    elif node.kind == "offcut":
        _check_offcut(book, sheet, piece)
    elif node.kind != "waste":
        _check_item(book, sheet, node, piece)


def _check_cut(book: _Book, sheet: _Sheet, node: Node, piece: _Piece) -> None:
    if node.cut not in ("rip", "crosscut") or not node.of:
        book.fault(sheet.where, f"a cut that is neither rip nor crosscut, or cuts into nothing: {node.cut}")
        return
    turns = piece.turns + (node.cut != piece.last_cut)
    _check_stages(book, sheet, node, turns)
    at = 0
    for child in node.of:
        if node.cut == "rip":
            inner = _Piece(piece.x, piece.y + at, piece.long, child.size, turns, "rip")
        else:
            inner = _Piece(piece.x + at, piece.y, child.size, piece.wide, turns, "crosscut")
        _check_piece(book, sheet, child, inner)
        at += child.size + book.problem.kerf
    room = piece.wide if node.cut == "rip" else piece.long
    left = room - (at - book.problem.kerf)
    if left < 0:
        book.fault(sheet.where, f"a {node.cut} takes {room - left} of {room}")
    if left > book.problem.kerf:
        book.fault(
            sheet.where, f"a {node.cut} leaves {left}, more than one kerf, and does not say what it is"
        )


def _check_stages(book: _Book, sheet: _Sheet, node: Node, turns: int) -> None:
    limit = book.problem.stages
    if limit is None or turns <= limit:
        return
    kinds = [child.kind for child in node.of]
    frees_one = "cut" not in kinds and sum(kind in ("part", "blank") for kind in kinds) <= 1
    if turns > limit + 1 or not frees_one:
        book.fault(sheet.where, f"cuts change direction more than {limit} times")


def _check_offcut(book: _Book, sheet: _Sheet, piece: _Piece) -> None:
    keep, stock = book.problem.keep, sheet.stock
    if keep is None:
        book.fault(sheet.where, "keeps an offcut, but the problem says nothing of keeping")
        return
    sides = sorted((piece.long, piece.wide))
    least = sorted((keep.length, keep.width))
    if sides[0] < least[0] or sides[1] < least[1]:
        book.fault(sheet.where, f"keeps an offcut of {piece.long} × {piece.wide}, smaller than the shop does")
    share = Fraction(piece.long * piece.wide, stock.length * stock.width)
    book.kept += sheet.times * keep.rate * stock.cost * share


def _check_item(book: _Book, sheet: _Sheet, node: Node, piece: _Piece) -> None:
    parts, blanks = book.parts, book.blanks
    if (node.kind == "part" and node.id not in parts) or (node.kind == "blank" and node.id not in blanks):
        book.fault(sheet.where, f"there is no {node.kind} {node.id!r}")
        return
    book.cut[node.id] += sheet.times
    within = [parts[node.id]] if node.kind == "part" else _within(blanks[node.id].tree, parts)
    if node.kind == "part":
        size = parts[node.id].length, parts[node.id].width
        _check_part_grain(book, sheet, node, parts[node.id])
    else:
        size = _size(blanks[node.id].tree, parts, book.problem.kerf)
        _check_blank_grain(book, sheet, node, blanks[node.id], within)
    wanted = (size[1], size[0]) if node.turned else size
    if (piece.long, piece.wide) != wanted:
        book.fault(
            sheet.where, f"{node.id!r} comes out {piece.long} × {piece.wide}, not {wanted[0]} × {wanted[1]}"
        )
    for part in within:
        if part.materials and sheet.stock.material and sheet.stock.material not in part.materials:
            book.fault(sheet.where, f"{part.id!r} may not be cut from {sheet.stock.material}")
    _check_defects(book, sheet, node, piece)


def _check_part_grain(book: _Book, sheet: _Sheet, node: Node, part: Part) -> None:
    against = (part.grain == "length" and node.turned) or (part.grain == "width" and not node.turned)
    if sheet.stock.grained and against:
        book.fault(sheet.where, f"{part.id!r} lies against its grain")


def _check_blank_grain(book: _Book, sheet: _Sheet, node: Node, blank: Blank, within: list[Part]) -> None:
    settled = blank.grain == "length" or any(part.grain != "any" for part in within)
    if sheet.stock.grained and settled and node.turned:
        book.fault(sheet.where, f"blank {blank.id!r} lies against its grain")


def _check_defects(book: _Book, sheet: _Sheet, node: Node, piece: _Piece) -> None:
    for flaw in sheet.stock.defects:
        over_x = piece.x < flaw.x + flaw.length and flaw.x < piece.x + piece.long
        over_y = piece.y < flaw.y + flaw.width and flaw.y < piece.y + piece.wide
        if over_x and over_y:
            book.fault(sheet.where, f"{node.id!r} lies over a defect")


def _within(tree: str | Side, parts: dict[str, Part]) -> list[Part]:
    if isinstance(tree, str):
        return [parts[tree]]
    return [part for child in tree.of for part in _within(child, parts)]


def _size(tree: str | Side, parts: dict[str, Part], kerf: int) -> tuple[int, int]:
    if isinstance(tree, str):
        part = parts[tree]
        return (part.length, part.width) if part.grain != "width" else (part.width, part.length)
    along = 0 if tree.cut == "crosscut" else 1
    sizes = [_size(child, parts, kerf) for child in tree.of]
    total = sum(size[along] for size in sizes) + kerf * (len(sizes) - 1)
    across = max(size[1 - along] for size in sizes)
    return (total, across) if along == 0 else (across, total)


def _check_counts(book: _Book, plan: Plan) -> None:
    problem = book.problem
    parts = {part.id: part for part in problem.parts}
    in_blanks = {part.id for blank in problem.blanks for part in _within(blank.tree, parts)}
    wanted = {part.id: part.quantity for part in problem.parts if part.id not in in_blanks}
    wanted |= {blank.id: blank.quantity for blank in problem.blanks}
    missing = Counter({row.id: row.quantity for row in plan.unplaced})
    for name in wanted | book.cut | missing:
        if book.cut[name] + missing[name] != wanted.get(name, 0):
            text = f"{book.cut[name]} cut and {missing[name]} unplaced, {wanted.get(name, 0)} wanted"
            book.fault("parts", f"{name!r}: {text}")
    for stock in problem.stock:
        if stock.quantity is not None and book.used[stock.id] > stock.quantity:
            book.fault(
                "stock", f"{stock.id!r} is used {book.used[stock.id]} times, {stock.quantity} are there"
            )


def _check_figures(book: _Book, plan: Plan) -> None:
    money = book.problem.money
    bought = money * sum(row.cost * book.used[row.id] for row in book.problem.stock if row.buy)
    rack = money * sum(row.cost * book.used[row.id] for row in book.problem.stock if not row.buy)
    for name, said, mine in (
        ("bought", plan.bought, bought),
        ("rack_used", plan.rack_used, rack),
        ("kept", plan.kept, money * book.kept),
    ):
        if said != mine:
            book.fault("figures", f"{name} is said to be {said}, it is {mine}")
    if plan.bought_bound > plan.bought:
        book.fault("figures", f"the bound of {plan.bought_bound} is above the {plan.bought} bought")
