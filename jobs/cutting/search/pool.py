"""Good sheets met on the way, to choose among."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from jobs.cutting.search.kernel import ITEM_FREE
from jobs.cutting.search.sheets import Sheet
from jobs.cutting.search.state import Table

Counts = tuple[tuple[int, int], ...]
#: The number of a stock, and how often each item is cut from one piece of it.
Key = tuple[int, Counts]
#: With so many sheets at hand no more are noted, until a choice among them forgets half.
MOST_NOTED = 30_000


@dataclass(slots=True)
class _Kept:
    """A sheet, or how to draw it where that was not needed yet; and what its leftovers carry back."""

    value: float
    sheet: Sheet | None
    draw: Callable[[], Sheet | None] | None = None


@dataclass(slots=True)
class Pool:
    """One sheet for each stock and what is cut from it: the one that leaves most to keep."""

    table: Table
    sheets: dict[Key, _Kept] = field(default_factory=dict)
    fresh: int = 0

    def add(self, sheet: Sheet) -> None:
        """Keep a sheet where it is new, or leaves more than the one that is there."""
        key = self.key_of(sheet)
        if not key[1]:
            return
        value, known = kept_value(self.table, sheet), self.sheets.get(key)
        if known is None or known.sheet is None or known.value < value:
            self.fresh += known is None
            self.sheets[key] = _Kept(value, sheet)

    def key_of(self, sheet: Sheet) -> Key:
        """What tells this sheet from others."""
        return self.table.sources[sheet.source].number, tuple(sorted(sheet.counts().items()))

    def note(self, key: Key, draw: Callable[[], Sheet | None]) -> None:
        """Keep what could be drawn when it is wanted, where there is room."""
        if key not in self.sheets and len(self.sheets) < MOST_NOTED:
            self.fresh += 1
            self.sheets[key] = _Kept(0.0, None, draw)

    def sheet(self, key: Key) -> Sheet | None:
        """The sheet of this stock with this cut from it; None where there is none, or it can't be drawn again."""
        known = self.sheets.get(key)
        if known is None:
            return None
        if known.draw is not None:
            known.sheet, known.draw = known.draw(), None
            if known.sheet is not None:
                known.value = kept_value(self.table, known.sheet)
        return known.sheet

    def can_draw(self, key: Key) -> bool:
        """Whether the sheet is there, or could be drawn as far as is known."""
        known = self.sheets[key]
        return known.sheet is not None or known.draw is not None

    def value(self, key: Key) -> float:
        """What the leftovers of this sheet carry back, as far as it is drawn."""
        return self.sheets[key].value

    def keep_only(self, keys: Iterable[Key]) -> None:
        """Forget all other sheets."""
        self.sheets = {key: self.sheets[key] for key in keys if key in self.sheets}


def kept_value(table: Table, sheet: Sheet) -> float:
    """What the leftovers of a sheet carry back, before they are tidied up."""
    problem, stock = table.problem, table.sources[sheet.source].stock
    if problem.keep is None:
        return 0.0
    area = 0
    for _, kind, long, wide, axis, free, _ in sheet.rows:
        if kind <= ITEM_FREE and free > problem.kerf:
            one, two = free - problem.kerf, (wide if axis == 0 else long) - problem.kerf
            if problem.keep.takes(one, two):
                area += one * two
    return float(problem.keep.rate) * stock.cost * area / (stock.length * stock.width)
