"""Column generation: layouts as columns of a linear program, priced by dynamic programming.

The program buys fractions of layouts so that all parts are covered and the rack is not used beyond what is
there (Gilmore & Gomory 1961, 1965). Its dual prices are proofs for `bounds`, recomputed in whole numbers;
its columns, where positions are exact, are layouts worth choosing from.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import highspy

from jobs.cutting.bars import BarPricer, lone_axis
from jobs.cutting.groups import Group
from jobs.cutting.pricing import Cuts, Pricer, Way, leaves
from jobs.cutting.problem import Problem, Stock
from jobs.cutting.proofs import Proof, cheapest, proof_beyond_the_rack, proof_by_area, to_buy
from jobs.cutting.shortlist import Shortlist

SCALE = 1 << 32
EFFORTS = (1_000_000, 12_000_000, 60_000_000)
MOST_ROUNDS = 200
COLUMNS_A_ROUND = 4


@dataclass(frozen=True, slots=True)
class Column:
    """How often each item is cut from one piece of a stock; a layout, or one but for rounding."""

    stock: int
    counts: tuple[tuple[int, int], ...]
    is_layout: bool = True
    cuts: Cuts = None


class Columns:
    """The program for one group: `rounds` yields after each pricing, `bound` rises, `columns` grow.

    Of a large rack only what is `listed` is laid out piece by piece.
    """

    def __init__(self, problem: Problem, group: Group, listed: Shortlist | None = None) -> None:
        listed = listed or Shortlist(group.stock)
        self.problem, self.first_box = problem, len(listed.stock)
        self.proofs = [proof_by_area(problem, group), proof_beyond_the_rack(problem, group)]
        self.to_buy = to_buy(group)
        # Boxes stand for the rest of the rack: what is laid out on one proves something, and can't be sawn.
        self.group = group = Group(group.items, (*listed.stock, *listed.boxes))
        self.bound = cheapest(self.to_buy, self.proofs)
        self.columns: list[Column] = []
        self.known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self.fresh: list[Column] = []
        self.exact: Pricers | None = None
        self.effort_allowed = float("inf")
        self.master = Master(group)
        self.anchor: list[int] = []
        self.best_value = 0.0
        self.per_round = max(1, COLUMNS_A_ROUND // len(group.stock))
        self.is_bars = all(_programme(group, stock, problem.kerf)[0] is not None for stock in group.stock)

    def rounds(self, goal: int | None = None) -> Iterator[None]:
        """Price layouts until nothing more is gained, or the bound reaches the goal; ever finer positions."""
        if not self.to_buy:
            return
        for effort in EFFORTS:
            pricers = Pricers(self.problem, self.group, effort)
            if pricers.effort > self.effort_allowed:
                return
            self.exact = pricers if pricers.all_exact else None
            self._keep_only_layouts()
            for _ in range(MOST_ROUNDS):
                if goal is not None and self.bound >= goal:
                    return
                more = self._round(pricers)
                yield
                if not more:
                    break
            if pricers.all_exact:
                return

    def _keep_only_layouts(self) -> None:
        """Forget columns that were layouts only on a rougher grid: they would hide what a finer one proves."""
        layouts = [column for column in self.columns if column.is_layout]
        self.columns, self.known, self.master = [], set(), Master(self.group)
        for column in layouts:
            self.add(column)

    def add(self, column: Column) -> bool:
        """Let the program use a layout; false where it has it already."""
        key = column.stock, column.counts
        if key in self.known:
            return False
        self.known.add(key)
        self.columns.append(column)
        self.fresh.append(column)
        self.master.add(column)
        return True

    def _round(self, pricers: Pricers) -> bool:
        """Price once; whether new layouts came of it. Prices are first drawn towards the best known ones,
        which saves rounds (Wentges 1997)."""
        self.fresh = []
        prices, rents = self.master.solve()
        prices = [0 if item in pricers.blind else price for item, price in enumerate(prices)]
        if len(self.to_buy) == 1 and self.bound >= self._whole_sheets(self.master.value):
            return False
        drawn = [(near + far) // 2 for near, far in zip(prices, self.anchor or prices, strict=True)]
        for tried in (drawn, prices) if drawn != prices else (prices,):
            rooms = pricers.price(tried)
            self._prove(tried, rooms)
            if self._add_columns(pricers, prices, rents, rooms):
                return True
        return False

    def _add_columns(
        self, pricers: Pricers, prices: Sequence[int], rents: Sequence[int], rooms: Sequence[int]
    ) -> bool:
        """Add the layouts that pay at these prices; whether there were any."""
        gained = False
        for number in range(len(self.group.stock)):
            least = self.master.least(number, rents)
            if rooms[number] <= least:
                continue
            for column in pricers.columns(number, self.per_round):
                if number >= self.first_box:
                    column = replace(column, is_layout=False, cuts=None)
                if sum(prices[item] * count for item, count in column.counts) > least:
                    gained = self.add(column) or gained
        return gained

    def _whole_sheets(self, value: float) -> int:
        """What the sheets cost that a value of the program pays for, rounded up to whole ones."""
        cost = self.to_buy[0].cost
        return math.ceil(value / cost - 1e-6) * cost if cost else 0

    def _prove(self, prices: Sequence[int], rooms: Sequence[int]) -> None:
        """Turn prices into a proof, and keep it where it raises the bound or helps others to."""
        need = sum(price * item.quantity for price, item in zip(prices, self.group.items, strict=True))
        for stock, room in zip(self.group.stock, rooms, strict=True):
            if not stock.buy and room:
                if stock.quantity is None:
                    return
                need -= stock.quantity * room
        proof = Proof(
            need, tuple(room for stock, room in zip(self.group.stock, rooms, strict=True) if stock.buy)
        )
        value = self._value(proof)
        if value > self.best_value:
            self.best_value, self.anchor = value, list(prices)
        bound = cheapest(self.to_buy, [*self.proofs, proof])
        if bound > self.bound:
            self.bound = bound
            self.proofs.append(proof)

    def _value(self, proof: Proof) -> float:
        """What a proof is worth when sheets are bought by the slice, in the dearest sheet."""
        rates = (stock.cost / room for stock, room in zip(self.to_buy, proof.rooms, strict=True) if room)
        return min(rates, default=0.0) * proof.need


class Master:
    """The linear program, kept by the solver between rounds. Floats live only here."""

    def __init__(self, group: Group) -> None:
        self.group = group
        self.solver = highspy.Highs()
        self.solver.setOptionValue("output_flag", False)
        self.solver.setOptionValue("threads", 1)
        largest = float(max([stock.cost for stock in group.stock if stock.buy] or [1]) or 1)
        self.unit, self.value = largest, 0.0
        for item in group.items:
            self.solver.addRow(float(item.quantity), highspy.kHighsInf, 0, [], [])
        for stock in group.stock:
            limit = highspy.kHighsInf if stock.quantity is None else float(stock.quantity)
            self.solver.addRow(-highspy.kHighsInf, limit, 0, [], [])
        for row in range(len(group.items)):
            # To begin with every part can be had by itself, at a price that no sheet asks.
            self.solver.addCol(10.0, 0.0, highspy.kHighsInf, 1, [row], [1.0])

    def add(self, column: Column) -> None:
        stock = self.group.stock[column.stock]
        rows = [item for item, _ in column.counts] + [len(self.group.items) + column.stock]
        values = [float(count) for _, count in column.counts] + [1.0]
        cost = stock.cost / self.unit if stock.buy else 0.0
        self.solver.addCol(cost, 0.0, highspy.kHighsInf, len(rows), rows, values)

    def want(self, left: Sequence[int], there: Sequence[int | None]) -> None:
        """From now on so many of each item are wanted, of so many pieces of stock."""
        for at, quantity in enumerate(left):
            self.solver.changeRowBounds(at, float(quantity), highspy.kHighsInf)
        for at, number in enumerate(there, len(left)):
            limit = highspy.kHighsInf if number is None else float(number)
            self.solver.changeRowBounds(at, -highspy.kHighsInf, limit)

    def solve(self) -> tuple[list[int], list[int]]:
        """Prices of the items and rents of the stock, as whole numbers, a SCALE-th of the dearest sheet."""
        self.solver.run()
        self.value = self.solver.getInfo().objective_function_value * self.unit
        duals = self.solver.getSolution().row_dual
        items = len(self.group.items)
        prices = [max(0, int(dual * SCALE)) for dual in duals[:items]]
        return prices, [max(0, int(-dual * SCALE)) for dual in duals[items:]]

    def least(self, number: int, rents: Sequence[int]) -> int:
        """What a layout on this stock must be worth to be of use."""
        stock = self.group.stock[number]
        cost = int(stock.cost / self.unit * SCALE) if stock.buy else 0
        return cost + rents[number] + SCALE // 1_000_000

    def values(self) -> list[float]:
        """How much of each layout the program takes."""
        return list(self.solver.getSolution().col_value)[len(self.group.items) :]


class Pricers:
    """One pricing programme for each set of ways that items may lie on the stock.

    A knapsack for stock on which parts can only lie in one row, else the programme over rectangles.
    """

    def __init__(self, problem: Problem, group: Group, effort: int) -> None:
        self.kerf, self.group = problem.kerf, group
        self.keys = [_programme(group, stock, self.kerf) for stock in group.stock]
        by_key: dict[Key, list[Stock]] = {}
        for stock, key in zip(group.stock, self.keys, strict=True):
            by_key.setdefault(key, []).append(stock)
        self.pricers = {key: self._pricer(key, rows, effort) for key, rows in by_key.items()}

    def _pricer(self, key: Key, rows: Sequence[Stock], effort: int) -> Pricer | BarPricer:
        axis, ways = key
        long = max(stock.usable[0] for stock in rows) + self.kerf
        wide = max(stock.usable[1] for stock in rows) + self.kerf
        if axis is None:
            return Pricer(ways, long, wide, effort)
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
            pricer.price(prices, left)
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


Key = tuple[int | None, tuple[Way, ...]]


def _programme(group: Group, stock: Stock, kerf: int) -> Key:
    """What tells one pricing programme from another: the axis of bars, and the ways that matter."""
    ways = ways_on(group, stock, kerf)
    long, wide = stock.usable[0] + kerf, stock.usable[1] + kerf
    axis = lone_axis([way for way in ways if way.long <= long and way.wide <= wide], long, wide)
    if axis is None:
        return None, ways
    # What is too long for one bar may fit another of the same programme, what is too wide none.
    return axis, tuple(way for way in ways if (way.wide <= wide if axis == 0 else way.long <= long))


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
