"""What every stock can hold at most at given prices of the parts: one pricing programme for each sort of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobs.cutting.bars import BarPricer, lone_axis
from jobs.cutting.groups import Group
from jobs.cutting.pricing import Closing, Cuts, Pricer, Way, close_by_rows, leaves
from jobs.cutting.problem import Problem, Stock
from jobs.cutting.within import Within, WithinPricer

# So many sizes of stock have a programme of their own; of more those on which parts lie in the same ways share one.
MOST_APART = 30


@dataclass(frozen=True, slots=True)
class Column:
    """How often each item is cut from one piece of a stock; a layout, or one but for rounding."""

    stock: int
    counts: tuple[tuple[int, int], ...]
    is_layout: bool = True
    cuts: Cuts = None


class Pricers:
    """One pricing programme for each set of ways that items may lie on the stock.

    A knapsack for stock on which parts can only lie in one row, else the programme over rectangles; with
    `within`, for each size one that gives layouts with no more copies than are left.
    """

    def __init__(self, problem: Problem, group: Group, effort: int, within: Within | None = None) -> None:
        self.kerf, self.group, self.within = problem.kerf, group, within
        self.close: Closing = close_by_rows
        self.are_apart = within is not None or len({stock.usable for stock in group.stock}) <= MOST_APART
        self.keys = [programme(group, stock, self.kerf, self.are_apart) for stock in group.stock]
        by_key: dict[Key, list[Stock]] = {}
        for stock, key in zip(group.stock, self.keys, strict=True):
            by_key.setdefault(key, []).append(stock)
        self.pricers = {key: self._pricer(key, rows, effort) for key, rows in by_key.items()}

    def _pricer(self, key: Key, rows: Sequence[Stock], effort: int) -> Pricer | BarPricer | WithinPricer:
        axis, ways, _ = key
        long = max(stock.usable[0] for stock in rows) + self.kerf
        wide = max(stock.usable[1] for stock in rows) + self.kerf
        if axis is None:
            if self.within is not None:
                return WithinPricer(ways, long, wide, effort, self.within)
            return Pricer(ways, long, wide, effort, is_alone=self.are_apart)
        return BarPricer(ways, long, wide, axis, effort)

    @property
    def blind(self) -> set[int]:
        """Items without a price, as some programme is too rough for them."""
        return {item for pricer in self.pricers.values() for item in pricer.blind}

    @property
    def effort(self) -> int:
        """Steps that one pricing takes, roughly."""
        return sum(pricer.effort for pricer in self.pricers.values())

    @property
    def all_exact(self) -> bool:
        return all(pricer.is_exact for pricer in self.pricers.values())

    def price(self, prices: Sequence[int], left: Sequence[int] | None = None) -> list[int]:
        """What each stock can hold at most at these prices; of bars, no more of an item than is left."""
        for pricer in self.pricers.values():
            pricer.price(prices, left, self.close)
        return [
            min(
                self.pricers[key].value(*self._size(stock)),
                _fitting(self.group, stock, prices, key[1], self.kerf),
            )
            for stock, key in zip(self.group.stock, self.keys, strict=True)
        ]

    def columns(self, number: int, most: int) -> Iterator[Column]:
        """Layouts, exact or not, that hold most on this stock, at most so many."""
        stock, pricer = self.group.stock[number], self.pricers[self.keys[number]]
        for cuts in pricer.good_cuts(*self._size(stock), most):
            counts = Counter(way.item for way in leaves(cuts))
            yield Column(number, tuple(sorted(counts.items())), pricer.is_exact, cuts)

    def _size(self, stock: Stock) -> tuple[int, int]:
        return stock.usable[0] + self.kerf, stock.usable[1] + self.kerf


Key = tuple[int | None, tuple[Way, ...], tuple[int, int]]


def programme(group: Group, stock: Stock, kerf: int, is_apart: bool) -> Key:
    """What tells one pricing programme from another: the axis of bars, the ways that matter, and the size of
    what has a programme apart."""
    ways = ways_on(group, stock, kerf)
    long, wide = stock.usable[0] + kerf, stock.usable[1] + kerf
    axis = lone_axis([way for way in ways if way.long <= long and way.wide <= wide], long, wide)
    if axis is None:
        return None, ways, stock.usable if is_apart else (0, 0)
    # What is too long for one bar may fit another of the same programme, what is too wide none.
    return axis, tuple(way for way in ways if (way.wide <= wide if axis == 0 else way.long <= long)), (0, 0)


def ways_on(group: Group, stock: Stock, kerf: int) -> tuple[Way, ...]:
    """The ways in which the group's items may lie on a stock."""
    ways = []
    for number, item in enumerate(group.items):
        if item.may_be_of(stock):
            for long, wide, turned in item.ways(stock):
                ways.append(Way(number, long + kerf, wide + kerf, item.quantity, turned))
    return tuple(ways)


def _fitting(group: Group, stock: Stock, prices: Sequence[int], ways: Sequence[Way], kerf: int) -> int:
    """At most what the dearest parts by area are worth that fit one by one, no more of each than is wanted."""
    long, wide = stock.usable[0] + kerf, stock.usable[1] + kerf
    fitting = {way.item: way.long * way.wide for way in ways if way.long <= long and way.wide <= wide}
    room, worth = long * wide, 0
    for item in sorted(fitting, key=lambda item: (-prices[item] / fitting[item], item)):
        taken = group.items[item].quantity * fitting[item]
        if taken > room:
            return worth + prices[item] * room // fitting[item] + 1
        worth += group.items[item].quantity * prices[item]
        room -= taken
    return worth
