"""A problem solved in one go, or, where boards begin with another cut than sheets, one kind after the other."""

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.planner import solve
from jobs.cutting.problem import Problem
from jobs.cutting.sections import better, fill_by_sections
from jobs.trees import leaves_of

Row = dict[str, Any]
# Of a kind's time, at most, for filling boards section by section before the search: a search sees most ways to
# cut few boards of a wood by itself.
FILLING_FEW, FILLING_MANY, MANY = 0.05, 0.5, 20
LEAST_SHARE = 0.2  # of the time, for a kind with few parts
WRITING_UP = 0.05  # of the time limit: checking a plan and writing it down take time too
ADDED_UP = ("bought", "rack_used", "kept", "bought_bound")


def solve_apart(
    problem: Row,
    *,
    progress: Callable[[Any], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    time_limit_s: float | None = None,
    seed: int | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> Row:
    """The plan for a problem of the planning format, as the format writes it, within the problem's time limit.

    Stock may say its own `first_cut`. Raises ProblemError.
    """
    whole = read_problem(problem)
    limit = whole.time_limit_s if time_limit_s is None else time_limit_s
    limit *= 1 - WRITING_UP
    kinds = [read_problem(kind) for kind in split(problem) if kind["parts"]] or [whole]
    started, answers = clock(), []
    for number, kind in enumerate(kinds):
        seconds = (limit - (clock() - started)) * _share(kinds[number:])
        answers.append(_solved(kind, max(seconds, 0), clock, seed, progress, cancelled))
    return answers[0] if len(answers) == 1 else _together(answers, clock() - started)


def _solved(
    kind: Problem,
    seconds: float,
    clock: Callable[[], float],
    seed: int | None,
    progress: Callable[[Any], None] | None,
    cancelled: Callable[[], bool] | None,
) -> Row:
    """The better of what filling boards section by section gives and of what the search finds after it."""
    started = clock()
    boards: Counter[str | None] = Counter()
    for stock in kind.stock:
        boards[stock.material] += stock.quantity or 0
    filling = FILLING_MANY if max(boards.values(), default=0) > MANY else FILLING_FEW
    filled = fill_by_sections(kind, started + filling * seconds, clock)
    left = max(seconds - (clock() - started), 0)
    plan = solve(kind, time_limit_s=left, seed=seed, progress=progress, cancelled=cancelled)
    best = better(kind, plan, filled)
    return write_plan(kind, best if best is plan else replace(best, seconds=clock() - started))


def _share(waiting: list[Problem]) -> float:
    """The share of the time left that the first of these gets, by how many parts it has."""
    if len(waiting) == 1:
        return 1.0
    pieces = [sum(part.quantity for part in kind.parts) for kind in waiting]
    return min(max(pieces[0] / (sum(pieces) or 1), LEAST_SHARE), 1 - LEAST_SHARE)


def split(problem: Row) -> list[Row]:
    """The problem in as many as there are first cuts among its stock, the most parts first.

    A part goes where the first of its materials is that there is stock of, a blank where its first part is.
    """
    usual = problem.get("first_cut") or "either"
    cut_of = {row["id"]: row.get("first_cut") or usual for row in problem["stock"]}
    cuts = list(dict.fromkeys(cut_of.values()))
    if len(cuts) < 2:
        return [{**problem, "first_cut": cuts[0] if cuts else usual}]
    home = _homes(problem, cut_of, usual if usual in cuts else cuts[0])
    kinds = [
        {
            **problem,
            "first_cut": cut,
            "stock": [row for row in problem["stock"] if cut_of[row["id"]] == cut],
            "parts": [row for row in problem["parts"] if home[row["id"]] == cut],
            "blanks": [row for row in problem.get("blanks", ()) if home[leaves_of(row["tree"])[0]] == cut],
        }
        for cut in cuts
    ]
    return sorted(kinds, key=lambda kind: -len(kind["parts"]))


def _homes(problem: Row, cut_of: dict[str, str], otherwise: str) -> dict[str, str]:
    """The first cut of the stock that each part, by its id, is planned on."""
    of_material = {row["material"]: cut_of[row["id"]] for row in problem["stock"] if row.get("material")}
    home = {}
    for part in problem["parts"]:
        there = (of_material[name] for name in _materials(part) if name in of_material)
        home[part["id"]] = next(there, otherwise)
    for blank in problem.get("blanks", ()):
        names = leaves_of(blank["tree"])
        home |= dict.fromkeys(names, home[names[0]])
    return home


def _materials(part: Row) -> list[str]:
    material = part.get("material") or []
    return [material] if isinstance(material, str) else material


def _together(answers: list[Row], seconds: float) -> Row:
    figures: Row = {
        name: str(sum((Decimal(answer["figures"][name]) for answer in answers), Decimal(0)))
        for name in ADDED_UP
    }
    is_proven = all(answer["status"] == "optimal" for answer in answers)
    return {
        "status": "optimal" if is_proven else "feasible",
        "figures": figures | {"seconds": round(seconds, 3)},
        "layouts": [layout for answer in answers for layout in answer["layouts"]],
        "unplaced": [row for answer in answers for row in answer["unplaced"]],
    }
