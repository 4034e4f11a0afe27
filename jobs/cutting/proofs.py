"""Proofs that so much must be bought, in whole numbers.

A proof is a list of prices for parts. No piece of a stock can hold parts worth more than its room, so the
sheets bought must have room for what all parts are worth, less what the rack can hold at most. Prices by
area are the first proof; duals of a linear program over layouts (columns.py) are better ones. The cheapest
whole numbers of sheets that satisfy every proof bound what must be spent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from jobs.cutting.groups import Group, Rooms
from jobs.cutting.problem import Problem, Stock

# A mix is compared with every proof: so many comparisons are made, a few hundredths of a second.
MOST_COMPARED = 40_000

#: So many of each stock to buy, in the order of a proof's rooms.
Mix = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """Sheets bought must have room for `need`; `rooms` is what one of each stock to buy can hold."""

    need: int
    rooms: tuple[int, ...]

    def refuses(self, mix: Sequence[int]) -> bool:
        """Whether so many of each stock to buy have too little room."""
        return sum(number * room for number, room in zip(mix, self.rooms, strict=True)) < self.need


def to_buy(group: Group) -> list[Stock]:
    """The stock that may be bought, in the order of a proof's rooms."""
    return [stock for stock in group.stock if stock.buy]


def proof_by_area(problem: Problem, group: Group) -> Proof:
    """Every part and every piece worth its area, one kerf added both ways."""
    kerf = problem.kerf

    def room(stock: Stock) -> int:
        return (stock.usable[0] + kerf) * (stock.usable[1] + kerf)

    need = sum((item.length + kerf) * (item.width + kerf) * item.quantity for item in group.items)
    for stock in group.stock:
        if not stock.buy:
            need -= need if stock.quantity is None else room(stock) * stock.quantity
    return Proof(need, tuple(room(stock) for stock in to_buy(group)))


def proof_beyond_the_rack(problem: Problem, group: Group) -> Proof:
    """The same for the parts that no piece of the rack can hold: however large it is, they must be bought."""
    rack, kerf = [stock for stock in group.stock if not stock.buy], problem.kerf
    rooms = Rooms(problem, rack)
    need = sum(
        (item.length + kerf) * (item.width + kerf) * item.quantity
        for item in group.items
        if item.quantity and not rooms.that_hold(item).any()
    )
    return Proof(need, proof_by_area(problem, group).rooms)


def cheapest(
    stock: Sequence[Stock], proofs: Sequence[Proof], *, in_whole_sheets: bool = True
) -> tuple[int, Mix | None]:
    """The least that sheets cost which satisfy every proof, never more than that; and how many of each they are.

    Where there are too many mixes to try (or `in_whole_sheets` is not asked for) the cost is that of sheets
    bought by the slice, sometimes less, and there is no mix.
    """
    useful = [proof for proof in proofs if proof.need > 0]
    if not useful or not stock:
        return 0, (0,) * len(stock)
    costs = [row.cost for row in stock]
    by_slice = max(_fractional(costs, proof) for proof in useful)
    mix = _Mixes(stock, useful).cheapest() if in_whole_sheets else None
    if mix is None:
        return by_slice, None
    return sum(cost * number for cost, number in zip(costs, mix, strict=True)), mix


def _fractional(costs: Sequence[int], proof: Proof) -> int:
    """Sheets bought by the slice, the cost rounded up."""
    rates = [Fraction(cost, room) for cost, room in zip(costs, proof.rooms, strict=True) if room > 0]
    if not rates:
        return 0
    least = min(rates) * proof.need
    return -(-least.numerator // least.denominator)


class _Mixes:
    """Tries numbers of each sheet, dearest last, and drops what cannot become cheaper than the best."""

    def __init__(self, stock: Sequence[Stock], proofs: Sequence[Proof]) -> None:
        self.order = sorted(range(len(stock)), key=lambda at: -stock[at].cost)
        self.costs = [stock[at].cost for at in self.order]
        self.limits = [stock[at].quantity for at in self.order]
        self.rooms = [[proof.rooms[at] for at in self.order] for proof in proofs]
        self.needs = [proof.need for proof in proofs]
        self.left = MOST_COMPARED
        self.best: tuple[int, Mix] | None = None

    def cheapest(self) -> Mix | None:
        """The cheapest mix; None where there are too many to try, or none that does."""
        self._from([], self.needs, 0)
        if self.left <= 0 or self.best is None:
            return None
        at = dict(zip(self.order, self.best[1], strict=True))
        return tuple(at[number] for number in range(len(at)))

    def _from(self, numbers: list[int], needs: list[int], spent: int) -> None:
        self.left -= len(needs)
        at = len(numbers)
        if all(need <= 0 for need in needs):
            if self.best is None or spent < self.best[0]:
                self.best = spent, (*numbers, *([0] * (len(self.costs) - at)))
            return
        if at == len(self.costs) or self.left <= 0:
            return
        rooms = [row[at] for row in self.rooms]
        most = self._most(at, needs, rooms)
        last = at == len(self.costs) - 1
        for number in range(most if last else 0, most + 1):
            cost = spent + number * self.costs[at]
            if self.best is not None and cost >= self.best[0]:
                return
            left = [need - number * room for need, room in zip(needs, rooms, strict=True)]
            self._from([*numbers, number], left, cost)

    def _most(self, at: int, needs: list[int], rooms: list[int]) -> int:
        """How many of a sheet would do alone: more are never needed."""
        most = max(
            (-(-need // room) for need, room in zip(needs, rooms, strict=True) if need > 0 and room > 0),
            default=0,
        )
        limit = self.limits[at]
        return most if limit is None else min(most, limit)
