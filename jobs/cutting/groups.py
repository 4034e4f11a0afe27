"""Parts of a problem that have nothing to do with each other, and parts that fit nowhere."""

from __future__ import annotations

from dataclasses import dataclass

from jobs.cutting.clean import clean_rectangles, is_flawed, patterns_around_defects
from jobs.cutting.layout import Unplaced
from jobs.cutting.lengths import write_length
from jobs.cutting.problem import Item, Problem, Stock


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
    """The rectangles that parts may lie in: a piece inside its trim, or what is clean of a flawed one."""

    def __init__(self, problem: Problem) -> None:
        stages = problem.stages or 1 << 40
        self.sizes: dict[str, list[tuple[int, int]]] = {}
        for stock in problem.stock:
            self.sizes[stock.id] = [stock.usable]
            if is_flawed(stock):
                ways = patterns_around_defects(stock, problem.kerf, stages, problem.first_cut)
                self.sizes[stock.id] = clean_rectangles(ways, problem.kerf)

    def hold(self, item: Item, stock: Stock) -> bool:
        """Whether the item can be cut from one piece of this stock."""
        if stock.quantity == 0 or not item.may_be_of(stock):
            return False
        ways = item.ways(stock)
        return any(a <= long and b <= wide for long, wide in self.sizes[stock.id] for a, b, _ in ways)


def split(problem: Problem) -> tuple[list[Group], list[Unplaced]]:
    """Groups that can be planned apart, largest first, and what fits no stock at all with the reason."""
    unplaced, groups = [], []
    open_items = []
    rooms = Rooms(problem)
    for item in problem.items:
        if item.quantity == 0:
            continue
        if any(rooms.hold(item, stock) for stock in problem.stock):
            open_items.append(item)
        else:
            unplaced.append(Unplaced(item.id, item.quantity, why_nowhere(problem, item), True))
    while open_items:
        items, stock = _connected(problem, open_items, rooms)
        groups.append(Group(tuple(items), tuple(stock)))
        open_items = [item for item in open_items if item not in items]
    return sorted(groups, key=lambda group: -group.pieces), unplaced


def _connected(problem: Problem, items: list[Item], rooms: Rooms) -> tuple[list[Item], list[Stock]]:
    """The first item with all that share stock with it, directly or through others."""
    inside, stock = {items[0].id}, set[str]()
    grew = True
    while grew:
        grew = False
        for item in items:
            theirs = {row.id for row in problem.stock if rooms.hold(item, row)}
            if (item.id in inside or theirs & stock) and not (item.id in inside and theirs <= stock):
                inside.add(item.id)
                stock |= theirs
                grew = True
    return (
        [item for item in items if item.id in inside],
        [row for row in problem.stock if row.id in stock],
    )


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
