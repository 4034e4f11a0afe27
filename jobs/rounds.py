"""A job's problem worked out in rounds, for what has to be chosen before it can be solved.

Staves are thought from boards before anybody knows what else is cut from them, and a part that may be of sheet
goods or of lumber has another sawn size on each. So the first choice is tried for a short time; where parts are
left over, other choices are made from what that plan leaves, and tried too. The best choice gets the time left.
"""

import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from inventory.models import Material
from jobs.choosing_staves import Stretch, boards_of, choose_blanks
from jobs.gluing_up import ChosenBlank, stave_id
from jobs.models import Part
from jobs.rack_list import Rack, problem_for
from jobs.sawlist import SawList, material_id, other_kind, other_kind_id, part_id
from jobs.solving import solve_apart
from jobs.trees import leaves_of
from shared.measure import exact_text, exact_ticks
from shared.models import Shop

SCOUTING = 0.1  # of the time, for each try but the last
CHOOSING = 0.1  # of the time, for choosing staves once

Row = dict[str, Any]
Worth = tuple[int, Fraction, Fraction]


@dataclass(frozen=True, slots=True)
class Tried:
    """A choice with its problem and the plan found; `worth` is less for a better one."""

    todo: SawList
    blanks: list[ChosenBlank]
    problem: Row
    answer: Row
    worth: Worth


@dataclass(slots=True)
class Rounds:
    """What is tried for one plan, within the shop's time limit from its birth on."""

    todo: SawList
    rack: Rack
    shop: Shop
    progress: Callable[[Any], None] | None = None
    cancelled: Callable[[], bool] | None = None
    clock: Callable[[], float] = time.monotonic
    tried: list[Tried] = field(default_factory=list)
    started: float = 0.0

    def __post_init__(self) -> None:
        self.started = self.clock()

    def work_out(self) -> Tried:
        """The best plan found. Raises ProblemError."""
        blanks = self._choose({})
        mixed = [part for part in self.todo.parts if other_kind(part) and self.todo.left(part)]
        if not mixed and not any(blank.is_from_boards for blank in blanks):
            return self._try({}, blanks, 1.0)  # nothing to choose between
        self._try({}, blanks, SCOUTING)
        self._try_other_kinds(mixed)
        self._choose_again()
        if not self._is_cancelled():
            best = self.best
            self._try(best.todo.moved, best.blanks, 1.0)
        return _with_the_rest_as_listed(self.best)

    @property
    def best(self) -> Tried:
        """The last of those that are as good as any."""
        return min(reversed(self.tried), key=lambda one: one.worth)

    def _is_cancelled(self) -> bool:
        return self.cancelled is not None and self.cancelled()

    def _seconds_left(self) -> float:
        return max(0.0, self.shop.planning_seconds - (self.clock() - self.started))

    # ---- choosing -----------------------------------------------------------------------------------------

    def _choose(self, busy: Mapping[str, list[Stretch]]) -> list[ChosenBlank]:
        pieces = (piece for group in self.rack.pieces.values() for piece in group)
        seconds = CHOOSING * self.shop.planning_seconds
        return choose_blanks(self.todo, boards_of(pieces, busy), self.shop, seconds)

    def _try_other_kinds(self, mixed: list[Part]) -> None:
        """Parts that may be of two kinds, cut from the other one: those left over, then all of them."""
        first = self.tried[0]
        over = Counter({row["id"]: row["quantity"] for row in first.answer["unplaced"]})
        left = {part.pk: over[part_id(part)] for part in mixed if over[part_id(part)]}
        everything = {part.pk: self.todo.left(part) for part in mixed}
        if left and left != everything:
            self._try(left, first.blanks, SCOUTING)
        buys = Fraction(first.answer["figures"]["bought"]) > 0
        if mixed and (left or buys):
            there = self._try(everything, first.blanks, SCOUTING)
            over = Counter({row["id"]: row["quantity"] for row in there.answer["unplaced"]})
            fits = {part.pk: everything[part.pk] - over[other_kind_id(part)] for part in mixed}
            if fits != everything and any(fits.values()):
                self._try(fits, first.blanks, SCOUTING)

    def _choose_again(self) -> None:
        """Staves anew where solid wood is left over: from what the other parts leave of the boards, then from
        what those leave where they are planned without any stave."""
        if not any(blank.is_from_boards for blank in self.best.blanks):
            return
        for without_staves in (False, True):
            best = self.best
            if not self._is_wood_left_over(best) or self._is_cancelled():
                return
            problem, answer = best.problem, best.answer
            if without_staves:
                problem = self._problem(best.todo.moved, best.blanks, with_staves=False)
                answer = self._solve(problem, SCOUTING)
            blanks = self._choose(self._busy(problem, answer))
            if all(blanks != one.blanks for one in self.tried):
                self._try(best.todo.moved, blanks, SCOUTING)

    def _is_wood_left_over(self, tried: Tried) -> bool:
        solid = {part_id(part) for part in self.todo.parts if part.material.is_lumber}
        solid |= {other_kind_id(part) for part in self.todo.parts if other_kind(part) == Material.Kind.LUMBER}
        solid |= {name for name, _, _ in _staves(tried.blanks)}
        return any(row["id"] in solid for row in tried.answer["unplaced"])

    def _busy(self, problem: Row, answer: Row) -> dict[str, list[Stretch]]:
        """The stretches of each board, by its code, that other parts than staves lie on."""
        names = {row["id"] for row in problem["parts"]} - {
            name for name, _, _ in _staves(self.tried[0].blanks)
        }
        names -= {name for one in self.tried for name, _, _ in _staves(one.blanks)}
        waiting = {code: list(group) for code, group in self.rack.pieces.items()}
        found: dict[str, list[Stretch]] = {}
        for layout in answer["layouts"]:
            for _ in range(layout.get("count", 1) if layout["stock"] in waiting else 0):
                piece = waiting[layout["stock"]].pop(0)
                found[piece.code] = list(self._stretches(layout["tree"], piece.length, names))
        return found

    def _stretches(self, tree: Row, length: int, others: set[str]) -> Iterator[Stretch]:
        kerf, at = self.shop.kerf, 0
        if tree.get("cut") != "crosscut":
            if _gives(tree, others):
                yield 0, length
            return
        for child in tree["of"]:
            size = exact_ticks(str(child["size"]), self.shop.unit)
            if _gives(child, others):
                yield max(0, at - kerf), min(length, at + size + kerf)
            at += size + kerf

    # ---- solving ------------------------------------------------------------------------------------------

    def _try(self, moved: Mapping[int, int], blanks: list[ChosenBlank], share: float) -> Tried:
        """Solve a choice in a share of the time; with 1 in all that is left. Kept among `tried`."""
        problem = self._problem(moved, blanks)
        answer = self._solve(problem, share)
        todo = self._less(moved, blanks)
        tried = Tried(todo, blanks, problem, answer, worth(problem, answer))
        self.tried.append(tried)
        return tried

    def _less(self, moved: Mapping[int, int], blanks: list[ChosenBlank]) -> SawList:
        given: Counter[int] = Counter()
        for blank in blanks:
            given.update(blank.parts)
        todo = self.todo.less(given)
        todo.moved = {pk: count for pk, count in moved.items() if count}
        return todo

    def _problem(
        self, moved: Mapping[int, int], blanks: list[ChosenBlank], *, with_staves: bool = True
    ) -> Row:
        problem = problem_for(self.shop, self._less(moved, blanks), self.rack)
        if with_staves:
            problem["parts"] += [self._stave_row(*one) for one in _staves(blanks)]
        return problem

    def _stave_row(self, name: str, blank: ChosenBlank, alike: tuple[int, int]) -> Row:
        return {
            "id": name,
            "length": exact_text(blank.sawn, self.shop.unit),
            "width": exact_text(alike[0], self.shop.unit),
            "quantity": alike[1],
            "grain": Part.Grain.LENGTH.value,
            "material": material_id(blank.material),
        }

    def _solve(self, problem: Row, share: float) -> Row:
        seconds = min(self._seconds_left(), self.shop.planning_seconds * share)
        return solve_apart(
            problem, time_limit_s=seconds, progress=self.progress, cancelled=self.cancelled, clock=self.clock
        )


def _staves(blanks: list[ChosenBlank]) -> Iterator[tuple[str, ChosenBlank, tuple[int, int]]]:
    """The lines of all blanks' staves, each with what a problem calls it."""
    for number, blank in enumerate(blanks):
        for line, alike in enumerate(blank.alike):
            yield stave_id(number, line), blank, alike


def _gives(tree: Row, names: set[str]) -> bool:
    if "of" in tree:
        return any(_gives(child, names) for child in tree["of"])
    return tree.get("part") in names or "blank" in tree


def worth(problem: Row, answer: Row) -> Worth:
    """What makes a plan of one choice better than that of another: less area left over, then less bought, then
    less rack value used up."""
    unit = problem["unit"]
    areas = {
        row["id"]: exact_ticks(row["length"], unit) * exact_ticks(row["width"], unit)
        for row in problem["parts"]
    }
    for blank in problem["blanks"]:
        areas[blank["id"]] = sum(areas[name] for name in leaves_of(blank["tree"]))
    left = sum(areas[row["id"]] * row["quantity"] for row in answer["unplaced"])
    bought, used, kept = (Fraction(answer["figures"][name]) for name in ("bought", "rack_used", "kept"))
    return left, bought, used - kept


def _with_the_rest_as_listed(tried: Tried) -> Tried:
    """What is left over of parts moved to their other kind is left over of the kind that is listed."""
    listed = {other_kind_id(part): part_id(part) for part in tried.todo.parts}
    back: Counter[str] = Counter()
    unplaced: dict[str, Row] = {}
    for row in tried.answer["unplaced"]:
        name = listed.get(row["id"], row["id"])
        if name != row["id"]:
            back[row["id"]] -= row["quantity"]
            back[name] += row["quantity"]
        before = unplaced.get(name, {"quantity": 0})
        unplaced[name] = row | {"id": name, "quantity": row["quantity"] + before["quantity"]}
    rows = [row | {"quantity": row["quantity"] + back[row["id"]]} for row in tried.problem["parts"]]
    parts = [row for row in rows if row["quantity"] or row["id"] not in listed]
    return replace(
        tried,
        problem=tried.problem | {"parts": parts},
        answer=tried.answer | {"unplaced": list(unplaced.values())},
    )


def renamed(tried: Tried, names: Mapping[str, str]) -> tuple[Row, Row]:
    """Its problem and answer with other names for some of the parts."""

    def named(row: Row) -> Row:
        return row | {"id": names.get(row["id"], row["id"])}

    def tree(node: Row) -> Row:
        if "of" in node:
            return node | {"of": [tree(child) for child in node["of"]]}
        return node | {"part": names.get(node["part"], node["part"])} if "part" in node else node

    problem = tried.problem | {"parts": [named(row) for row in tried.problem["parts"]]}
    layouts = [row | {"tree": tree(row["tree"])} for row in tried.answer["layouts"]]
    unplaced = [named(row) for row in tried.answer["unplaced"]]
    return problem, tried.answer | {"layouts": layouts, "unplaced": unplaced}
