"""What any plan must buy, at the least: proven, in whole numbers."""

from __future__ import annotations

from fractions import Fraction

from jobs.cutting.groups import Group, split
from jobs.cutting.problem import Problem


def bought_bound(problem: Problem) -> Fraction:
    """A lower bound, in the shop's currency, on what any plan that cuts all that can be cut must buy."""
    groups, _ = split(problem)
    return problem.money * sum(group_bound(problem, group) for group in groups)


def group_bound(problem: Problem, group: Group) -> int:
    """The same for one group, in the problem's money: by area alone."""
    kerf = problem.kerf
    wanted = sum((item.length + kerf) * (item.width + kerf) * item.quantity for item in group.items)
    for stock in group.stock:
        if not stock.buy:
            wanted -= (stock.usable[0] + kerf) * (stock.usable[1] + kerf) * (stock.quantity or 0)
            if stock.quantity is None:
                return 0
    per_area = [
        Fraction(stock.cost, (stock.usable[0] + kerf) * (stock.usable[1] + kerf))
        for stock in group.stock
        if stock.buy
    ]
    if wanted <= 0 or not per_area:
        return 0
    least = min(per_area) * wanted
    return -(-least.numerator // least.denominator)
