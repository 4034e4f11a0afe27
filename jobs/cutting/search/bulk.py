"""Many copies: fill one sheet at a time and cut it as often as the parts left allow."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from jobs.cutting.search import kernel
from jobs.cutting.search.kernel import LIVE
from jobs.cutting.search.sheets import Sheet, taken
from jobs.cutting.search.state import State, Table, fresh_state
from jobs.cutting.search.walk import clear_sheet


def filled(table: Table, order: list[int], preferred: set[int]) -> list[Sheet]:
    """Sheets filled one after the other in this order of items: rack first, then the preferred stock, then any.

    (Sequential heuristic procedure, Haessler 1971: a layout is repeated while it can be.)
    """
    left = [item.quantity for item in table.items]
    stock = {source.number: source.stock.quantity for source in table.sources}
    state = fresh_state(one_sheet(table), 0)
    rack = [int(not source.stock.buy) for source in table.sources]
    wanted = [int(at in preferred or rack[at]) for at in range(len(rack))]
    sheets: list[Sheet] = []
    for offered in (rack, wanted, [1] * len(rack)):
        while True:
            offered_now = [
                int(one and stock[source.number] != 0)
                for one, source in zip(offered, table.sources, strict=True)
            ]
            sheet = fill_one(state, order, offered_now, left)
            if sheet is None:
                break
            counts, number = sheet.counts(), table.sources[sheet.source].number
            times = min(left[item] // count for item, count in counts.items())
            limit = stock[number]
            if limit is not None:
                times = min(times, limit)
                stock[number] = limit - times
            for item, count in counts.items():
                left[item] -= times * count
            sheets += [sheet] * times
    return sheets


def one_sheet(table: Table) -> Table:
    """The same table with no more of an item than one sheet can hold."""
    largest = max((source.stock.usable[0] * source.stock.usable[1] for source in table.sources), default=0)
    items = (
        replace(item, quantity=min(item.quantity, 1 + largest // (item.length * item.width)))
        for item in table.items
    )
    return Table(table.problem, tuple(items), table.sources)


def fill_one(state: State, order: list[int], offered: list[int], left: list[int]) -> Sheet | None:
    """Fill one fresh sheet with items in this order, each at its best place; None where nothing fits."""
    items, tree, sheets, sources, count = state.rows()
    taken_up, room = 0, 1 << 200  # areas; what room there is shows once a sheet is open
    limits = Counter({item: left[item] for item in order if left[item]})
    none = [0] * len(offered)
    for item in order:
        while limits[item] > 0 and items[3][item] <= room:
            now = none if count[LIVE] else offered
            code = kernel.find_place(item, False, items, tree, sources, now, count)
            if code == -1:
                break
            kernel.put(code, item, items, tree, sheets, sources, count)
            limits[item] -= 1
            opened = sheets[1][sheets[3][0]]
            taken_up += items[3][item]
            room = sources[0][opened] * sources[1][opened] - taken_up
    if not count[LIVE]:
        return None
    at = sheets[3][0]
    sheet = taken(state, at)
    clear_sheet(at, items, tree, sheets, sources, count, [0] * len(tree[0]))
    return sheet
