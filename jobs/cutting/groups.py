"""Parts of a problem that have nothing to do with each other, and parts that fit nowhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jobs.cutting.clean import clean_rectangles, is_flawed, patterns_around_defects
from jobs.cutting.layout import Unplaced
from jobs.cutting.lengths import write_length
from jobs.cutting.problem import Item, Problem, Stock

Flags = npt.NDArray[np.bool_]
Numbers = npt.NDArray[np.int64]
Rows = npt.NDArray[np.int64] | npt.NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class Group:
    """Items and the stock that they share with no other item."""

    items: tuple[Item, ...]
    stock: tuple[Stock, ...]

    @property
    def pieces(self) -> int:
        """How many pieces are to be cut."""
        return sum(item.quantity for item in self.items)


class Rooms:
    """The rectangles that parts may lie in: a piece inside its trim, or what is clean of a flawed one.

    Kept as rows, one lot for each material and grain, so that thousands of pieces are looked through at once.
    """

    def __init__(self, problem: Problem, stock: Sequence[Stock]) -> None:
        self.count = len(stock)
        lots: dict[tuple[str | None, bool], list[tuple[int, int, int]]] = {}
        for number, row in enumerate(stock):
            if row.quantity != 0:
                rows = lots.setdefault((row.material, row.grained), [])
                rows += [(long, wide, number) for long, wide in _clean_sizes(problem, row)]
        self.lots = [(stock[rows[0][2]], _as_rows(rows)) for rows in lots.values() if rows]

    def that_hold(self, item: Item) -> Flags:
        """For each stock, whether the item can be cut from one piece of it."""
        found = np.zeros(self.count, dtype=bool)
        for number, *_ in self.places(item, np.ones(self.count, dtype=bool)):
            found[number] = True
        return found

    def places(self, item: Item, there: Flags) -> Iterator[tuple[Numbers, Rows, Rows, int, int]]:
        """Where the item fits among the stock that is there, a way to lie at a time: the stock's numbers, the
        rooms' lengths and widths, and how far the item goes along and across them."""
        for sample, (long, wide, number) in self.lots:
            if item.may_be_of(sample):
                numbers = number.astype(np.int64)
                for along, across, _ in item.ways(sample):
                    fits = (along <= long) & (across <= wide) & there[numbers]
                    if fits.any():
                        yield numbers[fits], long[fits], wide[fits], along, across


def _clean_sizes(problem: Problem, stock: Stock) -> list[tuple[int, int]]:
    if not is_flawed(stock):
        return [stock.usable]
    stages = problem.stages or 1 << 40
    ways = patterns_around_defects(stock, problem.kerf, stages, problem.first_cut)
    return clean_rectangles(ways, problem.kerf)


def _as_rows(rows: list[tuple[int, int, int]]) -> Rows:
    """Columns of whole numbers: machine numbers where they are large enough."""
    largest = max(max(row) for row in rows)
    return np.array(rows, dtype=np.int64 if largest < 1 << 62 else object).T


def split(problem: Problem) -> tuple[list[Group], list[Unplaced]]:
    """Groups that can be planned apart, largest first, and what fits no stock at all with the reason."""
    unplaced, groups = [], []
    rooms, holds = Rooms(problem, problem.stock), dict[str, Flags]()
    for item in problem.items:
        if item.quantity == 0:
            continue
        holds[item.id] = rooms.that_hold(item)
        if not holds[item.id].any():
            del holds[item.id]
            unplaced.append(Unplaced(item.id, item.quantity, why_nowhere(problem, item), True))
    while holds:
        inside, stock = _connected(holds)
        items = tuple(item for item in problem.items if item.id in inside)
        groups.append(Group(items, tuple(problem.stock[at] for at in np.flatnonzero(stock))))
        holds = {one: theirs for one, theirs in holds.items() if one not in inside}
    return sorted(groups, key=lambda group: -group.pieces), unplaced


def _connected(holds: dict[str, Flags]) -> tuple[set[str], Flags]:
    """The first item with all that share stock with it, directly or through others."""
    first, stock = next(iter(holds.items()))
    inside = {first}
    while True:
        more = [one for one, theirs in holds.items() if one not in inside and (theirs & stock).any()]
        if not more:
            return inside, stock
        inside.update(more)
        stock = np.logical_or.reduce([stock, *(holds[one] for one in more)])


def why_nowhere(problem: Problem, item: Item) -> str:
    """Why an item fits no piece of stock, and what would help."""
    suitable = [stock for stock in problem.stock if item.may_be_of(stock)]
    of = f" of {' or '.join(sorted(item.materials))}" if item.materials else ""
    if not suitable:
        return f"There is no stock{of}. Add a sheet or a board of it, to buy or in the rack."
    there = [stock for stock in suitable if stock.quantity != 0]
    if not there:
        return f"All stock{of} has quantity 0. Add a piece of it."
    length, width = _as_laid(item)
    longest = max(there, key=lambda stock: stock.usable[0])
    widest = max(there, key=lambda stock: stock.usable[1])
    if length > longest.usable[0] and _turning_does_not_help(item, there):
        return _too_large(problem, "longer", of, length, longest.usable[0], longest)
    if width > widest.usable[1] and _turning_does_not_help(item, there):
        return _too_large(problem, "wider", of, width, widest.usable[1], widest)
    if item.grain != "any" and any(_fits_turned(item, stock) for stock in there):
        return f"It fits only across its grain. Let its grain be any, or add a longer or wider piece{of}."
    size = f"{_text(problem, item.length)} × {_text(problem, item.width)}"
    if any(item.fits(stock) for stock in there):
        return f"No piece{of} has {size} clear of its defects within the cuts allowed. Add a clean piece."
    return f"No piece{of} is both long and wide enough for {size}. Add a larger one, or cut it in two."


def _as_laid(item: Item) -> tuple[int, int]:
    return (item.width, item.length) if item.grain == "width" else (item.length, item.width)


def _turning_does_not_help(item: Item, there: list[Stock]) -> bool:
    if item.grain == "any":
        length, width = max(item.length, item.width), min(item.length, item.width)
        return all(length > max(row.usable) or width > min(row.usable) for row in there)
    return not any(_fits_turned(item, stock) for stock in there)


def _fits_turned(item: Item, stock: Stock) -> bool:
    length, width = _as_laid(item)
    return width <= stock.usable[0] and length <= stock.usable[1]


def _too_large(problem: Problem, what: str, of: str, size: int, room: int, stock: Stock) -> str:
    inside = " inside its trimmed edges" if stock.trim else ""
    return (
        f"It is {what} than every piece{of}: {_text(problem, size)} against {_text(problem, room)}{inside}. "
        f"Add a larger piece, or cut it in two."
    )


def _text(problem: Problem, size: int) -> str:
    return write_length(size * problem.measure, in_fractions=problem.in_fractions)


def why_left_out(problem: Problem, item: Item) -> str:
    """Why an item that would fit was not cut: the stock ran out."""
    of = f" of {' or '.join(sorted(item.materials))}" if item.materials else ""
    size = f"{_text(problem, item.length)} × {_text(problem, item.width)}"
    return f"The stock ran out: no piece{of} has {size} left. Add a piece, or let a size of stock be bought."
