"""What any plan must buy, at the least."""

from __future__ import annotations

from fractions import Fraction

from jobs.cutting.columns import Columns
from jobs.cutting.groups import Group, split
from jobs.cutting.problem import Problem

ROUNDS = 40


def bought_bound(problem: Problem, rounds: int = ROUNDS) -> Fraction:
    """A lower bound, in the shop's currency, on what any plan that cuts all that can be cut must buy.

    Proven by area and by the dual prices of at most so many rounds of column generation.
    """
    return problem.money * sum(group_bound(problem, group, rounds) for group in split(problem)[0])


def group_bound(problem: Problem, group: Group, rounds: int = ROUNDS) -> int:
    """The same for one group, in the problem's money."""
    columns = Columns(problem, group)
    for _, _ in zip(range(rounds), columns.rounds(), strict=False):
        pass
    return columns.bound
