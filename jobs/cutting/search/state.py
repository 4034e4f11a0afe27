"""From a problem to the flat rows that the search works on, and from its state back to layouts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from jobs.cutting.clean import Pattern, is_flawed, patterns_around_defects
from jobs.cutting.problem import Item, Problem, Stock
from jobs.cutting.search.kernel import Row, Rows

NO_LIMIT = 1 << 40


@dataclass(frozen=True, slots=True)
class Source:
    """A stock as the search takes it: clean, or cut around its flaws in one way."""

    stock: Stock
    number: int
    pattern: Pattern | None


@dataclass(slots=True)
class State:
    """All that changes while the search goes, as lists of whole numbers (or arrays, once compiled)."""

    items: Rows
    tree: Rows
    sheets: Rows
    sources: Rows
    count: Row

    def on(self, row: Callable[[Row], Row]) -> State:
        """The same state on rows of another make."""

        def all_of(rows: Rows) -> Rows:
            return tuple(row(one) for one in rows)

        return State(
            all_of(self.items), all_of(self.tree), all_of(self.sheets), all_of(self.sources), row(self.count)
        )

    def rows(self) -> tuple[Rows, Rows, Rows, Rows, Row]:
        """As the compiled functions take it."""
        return self.items, self.tree, self.sheets, self.sources, self.count


@dataclass(frozen=True, slots=True)
class Table:
    """What does not change: which items and sources the numbers stand for."""

    problem: Problem
    items: tuple[Item, ...]
    sources: tuple[Source, ...]


def table_of(problem: Problem, items: tuple[Item, ...], stock: tuple[Stock, ...]) -> Table:
    """Number the items and the sources; a flawed stock is there once for each way around its flaws."""
    sources = []
    for number, row in enumerate(stock):
        if row.quantity == 0:
            continue
        if not is_flawed(row):
            sources.append(Source(row, number, None))
            continue
        stages = problem.stages or NO_LIMIT
        for pattern in patterns_around_defects(row, problem.kerf, stages, problem.first_cut):
            sources.append(Source(row, number, pattern))
    return Table(problem, items, tuple(sources))


def fits_machine_numbers(table: Table) -> bool:
    """Whether all areas and sums of the search stay within 64 bits."""
    kerf = table.problem.kerf
    wanted = sum((item.length + kerf) * (item.width + kerf) * item.quantity for item in table.items)
    rooms = ((source.stock.length + kerf) * (source.stock.width + kerf) for source in table.sources)
    pieces = sum(item.quantity for item in table.items)
    spent = pieces * max((source.stock.cost for source in table.sources), default=0)
    return max(wanted, spent, *rooms, 0) < NO_LIMIT << 20


def fresh_state(table: Table, seed: int) -> State:
    """Nothing cut yet, everything left to cut."""
    kerf, items = table.problem.kerf, table.items
    sorts = {key: number for number, key in enumerate(dict.fromkeys(map(_sort, table.sources)))}
    pieces = sum(item.quantity for item in items)
    patterns = sum(len(source.pattern.rows) for source in table.sources if source.pattern)
    slots = 3 * pieces + patterns * min(pieces, 1 + _most_flawed(table)) + min(pieces, NO_LIMIT) + 8
    item_rows = (
        [item.length + kerf for item in items],
        [item.width + kerf for item in items],
        [item.quantity for item in items],
        [(item.length + kerf) * (item.width + kerf) for item in items],
        _okay(table, sorts),
    )
    tree = (*([0] * slots for _ in range(14)), list(range(slots)))
    sheets = (*([0] * (pieces + 1) for _ in range(5)), list(range(pieces + 1)))
    wanted = sum(area * left for area, left in zip(item_rows[3], item_rows[2], strict=True))
    count = [0, slots, 0, pieces + 1, 0, wanted, 1 + seed % 2147483646, 0, table.problem.stages or NO_LIMIT]
    return State(
        item_rows, tree, sheets, _source_rows(table, sorts), [*count, NO_LIMIT << 20, max(1, len(sorts))]
    )


def _most_flawed(table: Table) -> int:
    counts = {source.number: source.stock.quantity for source in table.sources if source.pattern}
    return sum(NO_LIMIT if quantity is None else quantity for quantity in counts.values())


def _sort(source: Source) -> tuple[bool, str | None]:
    """What matters about a stock for whether an item may be cut from it."""
    return source.stock.grained, source.stock.material


def _okay(table: Table, sorts: dict[tuple[bool, str | None], int]) -> Row:
    """For each item and sort of stock: 1 if it may lie straight, 2 if turned, 3 if both."""
    samples = {_sort(source): source.stock for source in table.sources}
    row = []
    for item in table.items:
        for key in sorts or [None]:
            stock = samples.get(key) if key else None
            ways = item.ways(stock) if stock and item.may_be_of(stock) else ()
            row.append(sum(2 if turned else 1 for _, _, turned in ways))
    return row


def _source_rows(table: Table, sorts: dict[tuple[bool, str | None], int]) -> Rows:
    kerf, problem = table.problem.kerf, table.problem
    groups = {
        number: at for at, number in enumerate(dict.fromkeys(source.number for source in table.sources))
    }
    lefts = {source.number: source.stock.quantity for source in table.sources}
    starts: Row = []
    stops: Row = []
    patterns: Row = []
    for source in table.sources:
        starts.append(len(patterns) // 7)
        for row in source.pattern.rows if source.pattern else []:
            patterns += row
        stops.append(len(patterns) // 7)
    axes = {None: 3, "rip": 2, "crosscut": 1}[problem.first_cut]
    stock = [source.stock for source in table.sources]
    return (
        [row.usable[0] + kerf for row in stock],
        [row.usable[1] + kerf for row in stock],
        [groups[source.number] for source in table.sources],
        [row.cost if row.buy else 0 for row in stock],
        [sorts[_sort(source)] for source in table.sources],
        [axes] * len(stock),
        [NO_LIMIT if lefts[number] is None else lefts[number] for number in groups],  # type: ignore[misc]
        starts,
        stops,
        patterns or [0],
        [0] * (len(patterns) // 7 + 1),
        [1 if row.buy else 0 for row in stock],
    )
