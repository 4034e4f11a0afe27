"""The search for one group of many parts: whole layouts are repeated, only what they leave over is searched."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import replace
from itertools import product
from random import Random

from jobs.cutting.groups import Group
from jobs.cutting.problem import Problem
from jobs.cutting.search import group_search
from jobs.cutting.search.accelerate import Moves
from jobs.cutting.search.bulk import filled
from jobs.cutting.search.group_search import SHAKEN_STARTS, GroupSearch, has_many
from jobs.cutting.search.off_the_rack import OffTheRack
from jobs.cutting.search.orders import area_of
from jobs.cutting.search.sheets import Sheet

FILLED_AT_A_TIME = 20

_ENDED = object()


def search_for(
    problem: Problem, group: Group, seed: int, moves: Callable[[float], Moves], chunk: int | None
) -> GroupSearch:
    """The search for a group, by how many parts it has and how large its rack is."""
    kind = ManySearch if has_many(group) else GroupSearch
    return kind(problem, group, seed, moves, chunk)


class ManySearch(GroupSearch):
    """Anytime, as any search of a group."""

    def rounds(self) -> Iterator[None]:
        """Repeat whole layouts, and search only for what they leave over."""
        if self.listed.boxes:
            yield from self._off_the_rack()
            return
        for order, preferred in self.orders():
            self.offer(filled(self.table, order, preferred))
            yield
        if self.is_proven:
            return
        if not self.is_bars:
            yield from self.strip_dives()
            self.choose()
            yield
        columns = self.generate()
        if self.is_bars:
            yield from columns
        yield from self._in_turn(columns, self._rest_of(self._whole_numbers()))
        if not self.is_proven:
            self.choose()

    def _off_the_rack(self) -> Iterator[None]:
        """Cut from a rack of thousands what it holds, and search among what is to buy for the rest: first in a
        few ways, then on with the best of them and in more ways."""
        best = self.best
        further: Iterator[None] = iter(())
        plain = [order for order, _ in self.orders()][:: len(self.columns.to_buy[:6]) or 1]
        for order, by_value in product(plain, (False, True)):
            rest = yield from self._filled_off(order, by_value)
            if self.best < best:
                best, further = self.best, rest
            yield
        more = self._shaken_off()
        yield from self._in_turn(self.generate(), further, more)
        if self.has_value:
            yield from more

    def _shaken_off(self) -> Iterator[None]:
        """More of the same, in orders by area but for some chance."""
        chance, items = Random(self.seed), self.group.items
        for turn in range(SHAKEN_STARTS):
            keys = [area_of(item) * chance.uniform(0.7, 1.3) for item in items]
            yield from self._filled_off(sorted(range(len(items)), key=lambda at: -keys[at]), turn % 2 == 0)
            yield

    def _filled_off(self, order: list[int], by_value: bool) -> Generator[None, None, Iterator[None]]:
        """Fill the rack in this order; gives the search for the rest, which has made its first plan."""
        sheets: list[Sheet] = []
        for sheet in OffTheRack(self.table, self.group).sheets(order, by_value):
            sheets.append(sheet)
            # The first plan is made in one go, so that there is one.
            if self.layouts and len(sheets) % FILLED_AT_A_TIME == 0:
                yield
        rest = self._rest_of(sheets, from_rack=False)
        next(rest, None)
        return rest

    def _in_turn(self, *works: Iterator[None]) -> Iterator[None]:
        """A round of each work after the other, until all have ended or the plan is proven."""
        open_ones = list(works)
        while open_ones and not self.is_proven:
            for work in list(open_ones):
                if next(work, _ENDED) is _ENDED:
                    open_ones.remove(work)
                else:
                    yield

    def _whole_numbers(self) -> list[Sheet]:
        """Sheets to keep as they are: what the linear program takes whole, else the fullest of the best plan."""
        few = group_search.MANY_PIECES // 2
        fullest = sorted(self.sheets, key=lambda sheet: -sum(sheet.counts().values()))
        left, kept = self.group.pieces, []
        for sheet in self.whole_numbers or fullest:
            if left <= few and not self.whole_numbers:
                break
            kept.append(sheet)
            left -= sum(sheet.counts().values())
        return kept

    def _rest_of(self, fixed: list[Sheet], *, from_rack: bool = True) -> Iterator[None]:
        """Search the best way to cut what these sheets leave over."""
        items = list(self.group.items)
        stock = {row.id: row for row in self.group.stock if row.buy or from_rack}
        for sheet in fixed:
            for item, count in sheet.counts().items():
                items[item] = replace(items[item], quantity=items[item].quantity - count)
            row = stock.get(self.table.sources[sheet.source].stock.id)
            if row is not None and row.quantity is not None:
                stock[row.id] = replace(row, quantity=row.quantity - 1)
        there = tuple(row for row in stock.values() if row.quantity != 0)
        if not there or not any(item.quantity for item in items):
            self.offer(fixed)
            return
        rest = search_for(self.problem, Group(tuple(items), there), self.seed, self.moves, self.chunk)
        best = None
        for _ in rest.rounds():
            rest.seconds_left = self.seconds_left
            if rest.best != best:
                best = rest.best
                self.offer([*fixed, *(self._renumbered(rest, sheet) for sheet in rest.sheets)])
            yield

    def _renumbered(self, rest: GroupSearch, sheet: Sheet) -> Sheet:
        """A sheet of the rest's search, its source numbered as here."""
        stock = rest.table.sources[sheet.source].stock.id
        return replace(sheet, source=self.numbers[stock] + sheet.source - rest.numbers[stock])
