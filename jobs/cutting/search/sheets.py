"""One sheet of the search's state, taken out of it as a value that can be kept, compared and laid back."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from jobs.cutting.search import kernel
from jobs.cutting.search.kernel import LEFT, LIVE, SHEET_SLOT, SPENT
from jobs.cutting.search.state import State

NodeRow = tuple[int, int, int, int, int, int, int]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A source and its nodes, parents first: (parent row, kind, long, wide, axis, free, level)."""

    source: int
    rows: tuple[NodeRow, ...]

    def counts(self) -> Counter[int]:
        """How often each item is cut from it."""
        return Counter(row[1] for row in self.rows if row[1] >= 0)


def sheets_of(state: State) -> list[Sheet]:
    """All sheets of a state."""
    return [taken(state, int(state.sheets[3][j])) for j in range(state.count[LIVE])]


def taken(state: State, at: int) -> Sheet:
    """The sheet in this slot, as a value."""
    _, first, after, _, long, wide, axis, free, kinds, level = state.tree[:10]
    rows: list[NodeRow] = []
    waiting = [(int(state.sheets[0][at]), -1)]
    while waiting:
        n, parent = waiting.pop()
        here = len(rows)
        rows.append(
            (parent, int(kinds[n]), int(long[n]), int(wide[n]), int(axis[n]), int(free[n]), int(level[n]))
        )
        # The newest child heads the row of siblings, so that popping takes the oldest first.
        child = first[n]
        while child >= 0:
            waiting.append((int(child), here))
            child = after[child]
    return Sheet(int(state.sheets[1][at]), tuple(rows))


def lay(state: State, sheet: Sheet) -> bool:
    """Put a kept sheet into a state; false where its stock or its parts are used up."""
    items, tree, sheets, sources, count = state.rows()
    group = int(sources[2][sheet.source])
    counts = sheet.counts()
    if sources[6][group] <= 0 or any(items[2][item] < number for item, number in counts.items()):
        return False
    count[SHEET_SLOT] -= 1
    at = int(sheets[5][count[SHEET_SLOT]])
    nodes: list[int] = []
    for parent, kind, long, wide, axis, free, level in sheet.rows:
        hung = nodes[parent] if parent >= 0 else -1
        n = kernel.new_node(hung, kind, long, wide, axis, level, tree, count)
        tree[7][n], tree[10][n], tree[11][n] = free, at, sources[4][sheet.source]
        nodes.append(n)
    sources[6][group] -= 1
    count[SPENT] += sources[3][sheet.source]
    sheets[0][at], sheets[1][at], sheets[2][at] = nodes[0], sheet.source, sum(counts.values())
    sheets[3][count[LIVE]], sheets[4][at] = at, count[LIVE]
    count[LIVE] += 1
    for item, number in counts.items():
        items[2][item] -= number
        count[LEFT] -= items[3][item] * number
    return True


def without(sheet: Sheet, drop: Counter[int]) -> Sheet | None:
    """The sheet with so many of these items left uncut; None where nothing stays."""
    rows = [list(row) for row in sheet.rows]
    gone = set()
    children = Counter(row[0] for row in rows)
    for at in range(len(rows) - 1, -1, -1):
        parent, kind, long, wide = rows[at][:4]
        is_dropped = kind >= 0 and drop[kind] > 0
        if is_dropped:
            drop[kind] -= 1
        elif kind != kernel.ITEM_FREE or children[at] or parent < 0:
            continue
        gone.add(at)
        children[parent] -= 1
        rows[parent][5] += long if rows[parent][4] == 0 else wide
    if not any(row[1] >= 0 for at, row in enumerate(rows) if at not in gone):
        return None
    numbers = {at: number for number, at in enumerate(at for at in range(len(rows)) if at not in gone)}
    numbers[-1] = -1
    left = (rows[at] for at in range(len(rows)) if at not in gone)
    return Sheet(sheet.source, tuple((numbers[row[0]], *row[1:]) for row in left))  # type: ignore[misc]
