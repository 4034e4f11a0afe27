"""A rack of hundreds or thousands: which of its pieces the search looks at, and what is proven of the rest.

The cost of a step must not grow with the rack. For each copy of a part the piece is listed that would lose
least by it, and the one that it fills best; the search cuts from these. The rest of the rack counts in
proofs, as fewer pieces that are each as large as the largest they stand for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest

import numpy as np
import numpy.typing as npt

from jobs.cutting.groups import Group, Rooms
from jobs.cutting.problem import Item, Problem, Stock

#: A rack of no more pieces than this is searched whole; of a larger one, so many and one more for each piece.
MOST_LISTED = 120
LARGEST_LISTED = 20
#: The rest of the rack is proven with at most this many lengths by this many widths of each material.
BOXES_A_SIDE = 6

Losses = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shortlist:
    """The stock to be searched, and boxes that hold at least as much as the rest of the rack."""

    stock: tuple[Stock, ...]
    boxes: tuple[Stock, ...] = ()


def shortlist(problem: Problem, group: Group) -> Shortlist:
    """What a search for the group looks at: all there is to buy, and no more of the rack than is of use."""
    rack = [stock for stock in group.stock if not stock.buy]
    most = MOST_LISTED + group.pieces
    if len(rack) <= most:
        return Shortlist(group.stock)
    listed = _most_useful(problem, group, most)
    return Shortlist(
        tuple(stock for stock in group.stock if stock.buy or stock.id in listed),
        boxes_of([stock for stock in rack if stock.id not in listed]),
    )


def rack_in_boxes(group: Group) -> Shortlist:
    """The same for many parts: of a rack too large to be searched whole, no piece is listed."""
    rack = [stock for stock in group.stock if not stock.buy]
    if len(rack) <= MOST_LISTED:
        return Shortlist(group.stock)
    return Shortlist(tuple(stock for stock in group.stock if stock.buy), boxes_of(rack))


def _most_useful(problem: Problem, group: Group, most: int) -> set[str]:
    """The ids of at most so many pieces of the rack: the largest few, and by turns what either rule names."""
    rack = [stock for stock in group.stock if not stock.buy]
    largest = sorted(rack, key=lambda stock: (-stock.length * stock.width, stock.id))[:LARGEST_LISTED]
    chosen = {stock.id: None for stock in largest}
    ways = (RackLedger(problem, group).one_each(by_value) for by_value in (True, False))
    for pair in zip_longest(*ways):
        for stock in pair:
            if stock is not None and len(chosen) < most:
                chosen.setdefault(stock.id)
    return set(chosen)


class RackLedger:
    """The rack as rows of numbers: what is left of it, and what each piece would lose by holding a part."""

    def __init__(self, problem: Problem, group: Group) -> None:
        self.items = group.items
        self.rack = [stock for stock in group.stock if not stock.buy]
        self.rooms = Rooms(problem, self.rack)
        self.kerf, self.keep = problem.kerf, problem.keep
        self.left = np.array([1 << 30 if row.quantity is None else row.quantity for row in self.rack])
        self.cost = np.array([float(row.cost) for row in self.rack])
        self.area = np.array([float(row.length) * row.width for row in self.rack])

    def one_each(self, by_value: bool) -> Iterator[Stock]:
        """For each copy of each item, the largest first, a piece of its own."""
        for item in sorted(self.items, key=lambda item: (-item.length * item.width, item.id)):
            for _ in range(item.quantity):
                number = self.best_for(item, by_value)
                if number is None:
                    break
                self.left[number] -= 1
                yield self.rack[number]

    def best_for(self, item: Item, by_value: bool) -> int | None:
        """The number of the piece that loses least by the item, in value or else in area; None if none fits."""
        least, best = np.inf, None
        for number, long, wide, along, across in self.rooms.places(item, self.left > 0):
            lost = self._lost(number, long, wide, along, across, by_value)
            at = int(np.argmin(lost))
            if lost[at] < least:
                least, best = lost[at], int(number[at])
        return best

    def _lost(
        self,
        number: npt.NDArray,
        long: npt.NDArray,
        wide: npt.NDArray,
        along: int,
        across: int,
        by_value: bool,
    ) -> Losses:
        """What each piece loses: its value less what the better of two first cuts leaves to be kept; or the
        area that no kept offcut has."""
        long, wide = long.astype(float), wide.astype(float)
        beside, over = long - along - self.kerf, wide - across - self.kerf
        kept = np.maximum(
            self._kept(beside, wide) + self._kept(np.full_like(over, float(along)), over),
            self._kept(beside, np.full_like(beside, float(across))) + self._kept(long, over),
        )
        area = self.area[number]
        lost: Losses = area - kept
        if by_value:
            rate = float(self.keep.rate) if self.keep else 0.0
            # Among pieces of the same value the one that loses less area goes first.
            lost = self.cost[number] * (1 - rate * kept / area) + 1e-9 * lost / self.area.max()
        return lost

    def _kept(self, one: Losses, two: Losses) -> Losses:
        """The area of each leftover that is large enough to be kept, else 0."""
        if self.keep is None:
            return np.zeros_like(one)
        big, small = max(self.keep.length, self.keep.width), min(self.keep.length, self.keep.width)
        is_kept = (np.maximum(one, two) >= big) & (np.minimum(one, two) >= max(small, 1))
        kept: Losses = np.where(is_kept, one * two, 0.0)
        return kept


def boxes_of(rack: list[Stock]) -> tuple[Stock, ...]:
    """Fewer pieces that hold at least what these do: each as long and wide as the largest it stands for."""
    lots: dict[tuple[str | None, bool], list[Stock]] = {}
    for stock in rack:
        lots.setdefault((stock.material, stock.grained), []).append(stock)
    boxes: list[Stock] = []
    for lot in lots.values():
        for long_ones in _in_parts(sorted(lot, key=lambda stock: stock.usable)):
            for alike in _in_parts(sorted(long_ones, key=lambda stock: stock.usable[::-1])):
                boxes.append(_box(f"box {len(boxes) + 1}", alike))
    return tuple(boxes)


def _in_parts(rows: list[Stock]) -> Iterator[list[Stock]]:
    size = -(-len(rows) // BOXES_A_SIDE)
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def _box(name: str, alike: list[Stock]) -> Stock:
    quantities = [stock.quantity for stock in alike]
    return Stock(
        name,
        max(stock.usable[0] for stock in alike),
        max(stock.usable[1] for stock in alike),
        quantity=None if None in quantities else sum(quantities),  # type: ignore[arg-type]
        grained=alike[0].grained,
        material=alike[0].material,
    )
