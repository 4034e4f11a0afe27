"""A problem solved in one go, or, where boards begin with another cut than sheets, one kind after the other."""

import time
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.planner import solve
from jobs.trees import leaves_of

Row = dict[str, Any]
LEAST_SHARE = 0.2  # of the time, for a kind with few parts
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
    kinds = [kind for kind in split(problem) if kind["parts"]] or [problem]
    started, answers = clock(), []
    for number, kind in enumerate(kinds):
        left = limit - (clock() - started)
        share = _share(kind, kinds[number:])
        read = read_problem(kind)
        plan = solve(
            read, time_limit_s=max(left * share, 0), seed=seed, progress=progress, cancelled=cancelled
        )
        answers.append(write_plan(read, plan))
    return answers[0] if len(answers) == 1 else _together(answers, clock() - started)


def _share(kind: Row, waiting: list[Row]) -> float:
    if len(waiting) == 1:
        return 1.0
    pieces = [sum(part["quantity"] for part in one["parts"]) for one in waiting]
    return min(max(pieces[0] / (sum(pieces) or 1), LEAST_SHARE), 1 - LEAST_SHARE)


def split(problem: Row) -> list[Row]:
    """The problem in as many as there are first cuts among its stock, the most parts first.

    A part goes where the first of its materials is, a blank where its first part is.
    """
    usual = problem.get("first_cut") or "either"
    cuts = {row.get("first_cut", usual) for row in problem["stock"]}
    if cuts <= {usual}:
        return [problem]
    home = {row["material"]: row.get("first_cut", usual) for row in problem["stock"] if "material" in row}
    first_of = {part["id"]: _first_material(part) for part in problem["parts"]}
    blanks = {
        blank["id"]: home.get(first_of[leaves_of(blank["tree"])[0]], usual)
        for blank in problem.get("blanks", ())
    }
    inside = {name: blanks[b["id"]] for b in problem.get("blanks", ()) for name in leaves_of(b["tree"])}
    kinds = []
    for cut in sorted(cuts | {usual}):
        stock = [row for row in problem["stock"] if row.get("first_cut", usual) == cut]
        parts = [
            part
            for part in problem["parts"]
            if inside.get(part["id"], home.get(first_of[part["id"]], usual)) == cut
        ]
        mine = [blank for blank in problem.get("blanks", ()) if blanks[blank["id"]] == cut]
        kinds.append({**problem, "first_cut": cut, "stock": stock, "parts": parts, "blanks": mine})
    return sorted(kinds, key=lambda kind: -len(kind["parts"]))


def _first_material(part: Row) -> Any:
    material = part.get("material")
    return material[0] if isinstance(material, list) else material


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
