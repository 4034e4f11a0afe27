"""Many parts from a rack of thousands: one piece of it after the other is filled and put aside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from jobs.cutting.clean import is_flawed
from jobs.cutting.groups import Group
from jobs.cutting.problem import Stock
from jobs.cutting.search.bulk import fill_one, one_sheet
from jobs.cutting.search.sheets import Sheet
from jobs.cutting.search.state import Source, State, Table, fresh_state
from jobs.cutting.shortlist import RackLedger


class OffTheRack:
    """Fills the rack's pieces for the items of a table; a sheet's source is one of the table's."""

    def __init__(self, table: Table, group: Group) -> None:
        self.table = table
        self.ledger = RackLedger(table.problem, group)
        self.sources: dict[str, list[int]] = {}
        for at, source in enumerate(table.sources):
            self.sources.setdefault(source.stock.id, []).append(at)
        self.states: dict[tuple[str | None, bool], State] = {}
        self.long = np.array([item.length for item in table.items])
        self.wide = np.array([item.width for item in table.items])

    def sheets(self, order: Sequence[int], by_value: bool) -> Iterator[Sheet]:
        """Sheets filled with items in this order, each on the piece that loses least by its first item."""
        left = [item.quantity for item in self.table.items]
        for first in order:
            while left[first]:
                number = self.ledger.best_for(self.table.items[first], by_value)
                if number is None:
                    break
                self.ledger.left[number] -= 1
                sheet = self._filled(self.ledger.rack[number], first, order, left)
                if sheet is None:
                    continue
                for item, count in sheet.counts().items():
                    left[item] -= count
                yield sheet

    def _filled(self, stock: Stock, first: int, order: Sequence[int], left: list[int]) -> Sheet | None:
        """The piece filled with the first item, then with what else of the order has room."""
        rows = self.sources.get(stock.id, [])
        state = self._state_on(stock, rows)
        long, wide = max(stock.usable), min(stock.usable)
        fits = (np.maximum(self.long, self.wide) <= long) & (np.minimum(self.long, self.wide) <= wide)
        some = [first, *(item for item in order if left[item] and fits[item] and item != first)]
        sheet = fill_one(state, some, [1] * len(state.sources[0]), left)
        return sheet and replace(sheet, source=rows[sheet.source])

    def _state_on(self, stock: Stock, rows: Sequence[int]) -> State:
        """An empty state with this piece alone; pieces without flaws share one of their kind."""
        if is_flawed(stock):
            return self._fresh([self.table.sources[at] for at in rows])
        kind = stock.material, stock.grained
        if kind not in self.states:
            largest = max(self.ledger.rack, key=lambda row: row.usable[0] * row.usable[1])
            room = replace(stock, length=largest.length, width=largest.width, trim=0, quantity=None)
            self.states[kind] = self._fresh([Source(room, 0, None)])
        state, kerf = self.states[kind], self.table.problem.kerf
        state.sources[0][0], state.sources[1][0] = stock.usable[0] + kerf, stock.usable[1] + kerf
        return state

    def _fresh(self, sources: Sequence[Source]) -> State:
        return fresh_state(one_sheet(replace(self.table, sources=tuple(sources))), 0)
