"""Drives the walk for one group of parts: starts, goals, and what is found on the way."""

from __future__ import annotations

from jobs.cutting.problem import Problem, Stock
from jobs.cutting.search.accelerate import Moves
from jobs.cutting.search.kernel import CAP, LEFT, LIVE, SPENT, Row
from jobs.cutting.search.sheets import Sheet, lay, sheets_of
from jobs.cutting.search.state import NO_LIMIT, Table, fresh_state

SHORTEST_HISTORY, LONGEST_HISTORY, PATIENCE = 400, 6400, 60
NO_CAP = NO_LIMIT << 20


class Walker:
    """Two states (where the walk is, and the last one accepted) and what it is after."""

    def __init__(self, table: Table, seed: int, moves: Moves) -> None:
        self.table, self.moves = table, moves
        self.now = fresh_state(table, seed).on(moves.row)
        self.saved = fresh_state(table, seed).on(moves.row)
        row, kinds = moves.row, len(table.items)
        self.offered = row([1] * len(table.sources))
        self.scratch = (row([0] * len(self.now.tree[0])), row([0] * kinds), row([0] * kinds))
        self.values = row([0.0 if source.stock.buy else float(source.stock.cost) for source in table.sources])
        self.credits = row([_credit(table.problem, source.stock) for source in table.sources])
        self.marks = row([1e300, 1e300])
        self.history = row([1e300] * SHORTEST_HISTORY)
        self.lowest, self.idle = 1e300, 0
        self.weights = row(self._goal_weights())

    # ---- starts ----

    def start(self, order: list[int], preferred: set[int]) -> None:
        """Clear all, then cut the items in this order: rack first, then the preferred stock, then any."""
        self.clear()
        rack = [1 if not source.stock.buy else 0 for source in self.table.sources]
        wanted = [1 if at in preferred or rack[at] else 0 for at in range(len(rack))]
        stages = [self.moves.row(offered) for offered in (rack, wanted, [1] * len(rack))]
        for item in order:
            self._cut_all_of(item, stages)

    def _cut_all_of(self, item: int, stages: list[Row]) -> None:
        items, tree, sheets, sources, count = self.now.rows()
        while items[2][item] > 0:
            for offered in stages:
                code = self.moves.find_place(item, False, items, tree, sources, offered, count)
                if code != -1:
                    break
            else:
                return
            self.moves.put(code, item, items, tree, sheets, sources, count)

    def clear(self) -> None:
        """Take everything out of every sheet."""
        items, tree, sheets, sources, count = self.now.rows()
        while count[LIVE]:
            self.moves.clear_sheet(sheets[3][0], items, tree, sheets, sources, count, self.scratch[0])

    # ---- goals ----

    def aim_below(self, cap: int) -> None:
        """From now on nothing may be spent above the cap; what is above it is put back."""
        items, tree, sheets, sources, count = self.now.rows()
        count[CAP] = cap
        self.saved.count[CAP] = cap
        self.moves.shed(items, tree, sheets, sources, count, self.scratch[0])
        self._begin(self._goal_weights(), 1e300)

    def aim_for_value(self, cap: int) -> None:
        """From now on everything is to be cut within the cap, for the least net rack value."""
        self.aim_below(cap)
        self._begin(self._value_weights(), 1e300)

    def _begin(self, weights: list[float], target: float) -> None:
        self.weights[:] = self.moves.row(weights)
        _, tree, sheets, sources, count = self.now.rows()
        cost = self.moves.cost_of(tree, sheets, sources, self.values, self.credits, self.weights, count)
        self.marks[:] = self.moves.row([float(cost), target])
        self.history[:] = self.moves.row([float(cost)] * len(self.history))
        self.lowest, self.idle = float(cost), 0
        self._save()

    def _save(self) -> None:
        self.moves.copy_state(*self.now.rows(), *self.saved.rows())

    def _goal_weights(self) -> list[float]:
        areas = self.now.items[3]
        largest = max(
            (a * b for a, b in zip(self.now.sources[0], self.now.sources[1], strict=True)), default=1
        )
        tie = min(areas) / 2 / float(largest) ** 1.5
        return [1.0, 0.0, tie, *self._keep_sizes(), float(self.table.problem.kerf)]

    def _value_weights(self) -> list[float]:
        """A part left out costs far more than the dearest stock it could be cut from."""
        stock = [source.stock for source in self.table.sources]
        dearest = max((row.cost / (row.length * row.width) for row in stock), default=1.0) or 1.0
        largest = max(
            (a * b for a, b in zip(self.now.sources[0], self.now.sources[1], strict=True)), default=1
        )
        tie = dearest * float(largest) ** -0.5 * 0.01
        return [dearest * 4, 1.0, tie, *self._keep_sizes(), float(self.table.problem.kerf)]

    def _keep_sizes(self) -> tuple[float, float]:
        keep = self.table.problem.keep
        if keep is None:
            return 1e300, 1e300
        return float(max(keep.length, keep.width)), float(min(keep.length, keep.width))

    def steps(self, number: int) -> bool:
        """Take so many steps; true where they found everything cut and better than the target."""
        now, saved = self.now.rows(), self.saved.rows()
        found = self.moves.walk(
            number, now, saved, self.values, self.credits, self.weights, self.history, self.marks,
            self.offered, self.scratch,
        )  # fmt: skip
        self.idle += number
        if self.marks[0] < self.lowest:
            self.lowest, self.idle = float(self.marks[0]), 0
        if found:
            self.marks[1] = self.marks[0] - 1e-9 * abs(self.marks[0])
        return bool(found)

    @property
    def is_stuck(self) -> bool:
        """Whether it has long found nothing lower: the late acceptance has run cold."""
        return self.idle > PATIENCE * len(self.history)

    def look_further_back(self) -> None:
        """Accept later from now on: slower, and stuck less soon."""
        longer = min(2 * len(self.history), LONGEST_HISTORY)
        self.history = self.moves.row([1e300] * longer)

    # ---- what is there ----

    @property
    def left_out(self) -> int:
        """The area, with kerf, of what the walk has not cut."""
        return int(self.now.count[LEFT])

    @property
    def spent(self) -> int:
        """What the walk buys."""
        return int(self.now.count[SPENT])

    def sheets(self) -> list[Sheet]:
        """The sheets where the walk is."""
        return sheets_of(self.now)

    def restore(self, sheets: list[Sheet]) -> None:
        """Go on from these sheets, as far as stock and parts allow."""
        self.clear()
        for sheet in sheets:
            lay(self.now, sheet)


def _credit(problem: Problem, stock: Stock) -> float:
    """What one unit of kept area carries back."""
    if problem.keep is None:
        return 0.0
    return float(problem.keep.rate) * stock.cost / (stock.length * stock.width)
