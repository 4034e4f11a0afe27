"""The linear program of column generation: so much of each layout, so that everything is cut."""

from __future__ import annotations

from collections.abc import Sequence

import highspy

from jobs.cutting.groups import Group
from jobs.cutting.pricers import Column

SCALE = 1 << 32
# What a part costs that no layout holds, in the dearest sheet.
LEFT_OUT = 10.0


class Master:
    """Kept by the solver between rounds. Floats live only here.

    `left_out` is what a copy of each item costs that is not cut.
    """

    def __init__(self, group: Group, left_out: Sequence[float] | None = None) -> None:
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
        for row, cost in enumerate(left_out or [LEFT_OUT] * len(group.items)):
            # To begin with every part can be had by itself, at a price that no sheet asks.
            self.solver.addCol(cost, 0.0, highspy.kHighsInf, 1, [row], [1.0])

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
