"""The search for one group of parts: starts, bounds, goals ever lower, then the least rack value."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Generator, Iterator
from dataclasses import replace
from itertools import islice, product
from math import inf
from random import Random

from jobs.cutting import objective
from jobs.cutting.clean import is_flawed
from jobs.cutting.columns import Column, Columns, Pricers
from jobs.cutting.dive import Dive, Fixed
from jobs.cutting.groups import Group
from jobs.cutting.layout import Layout
from jobs.cutting.objective import Worth
from jobs.cutting.problem import Item, Problem
from jobs.cutting.search.accelerate import PLAIN, Moves
from jobs.cutting.search.annealer import Annealer
from jobs.cutting.search.bulk import filled
from jobs.cutting.search.choose import Pool, cheapest_cover
from jobs.cutting.search.draw_up import layouts_of
from jobs.cutting.search.from_columns import sheet_of
from jobs.cutting.search.off_the_rack import OffTheRack
from jobs.cutting.search.sheets import Sheet, without
from jobs.cutting.search.state import fits_machine_numbers, table_of
from jobs.cutting.search.walker import NO_CAP, Walker
from jobs.cutting.shortlist import rack_in_boxes, shortlist
from jobs.cutting.strips import StripPricers

MANY_PIECES, LARGE_RACK, MANY_PIECES_OF_A_LARGE_RACK = 400, 400, 150
EFFORT_A_SECOND = 10_000_000
# One turn of the search: so many pricings, chunks of annealing, of walking lower, for rack value.
COLUMN_ROUNDS, ANNEAL_CHUNKS, GOAL_CHUNKS, VALUE_CHUNKS, CHOICE_TURNS = 20, 16, 6, 4, 6
# A chunk of annealing decodes as many orders of a hundred pieces as this share of a chunk's steps.
DECODES_A_STEP = 0.8
BAR_ROUNDS = 400
STALE_CHUNKS = 40
SHAKEN_STARTS = 24
CHOICE_SECONDS, CHOICE_NODES = 1.0, 2_000
FILLED_AT_A_TIME = 20


_ENDED = object()


class GroupSearch:
    """Anytime: `rounds` yields after each small piece of work; `best` and `layouts` are the best so far.

    `seconds_left` is set from outside, for the steps that cannot be cut into small pieces. `chunk` is how many
    steps of the walk make a small piece of work, where the moves are not to say.
    """

    def __init__(
        self, problem: Problem, group: Group, seed: int, moves: Callable[[float], Moves], chunk: int | None
    ) -> None:
        self.problem, self.group, self.seed, self.moves, self.chunk = problem, group, seed, moves, chunk
        many = MANY_PIECES if len(group.stock) <= LARGE_RACK else MANY_PIECES_OF_A_LARGE_RACK
        self.is_many = group.pieces > many
        self.listed = rack_in_boxes(group) if self.is_many else shortlist(problem, group)
        self.table = table_of(problem, group.items, group.stock if self.is_many else self.listed.stock)
        self.numbers = {source.stock.id: at for at, source in reversed(list(enumerate(self.table.sources)))}
        self.columns = Columns(problem, group, self.listed)
        self.is_bars = self.columns.is_bars and not any(is_flawed(stock) for stock in group.stock)
        self.pool = Pool(self.table)
        self.layouts: list[Layout] = []
        self.sheets: list[Sheet] = []
        self.best: Worth = objective.worth(problem, group.items, [])
        self.left_out_seen = 1 << 200
        self.whole_numbers: list[Sheet] = []
        self.seconds_left = inf
        self.has_value = any(stock.cost for stock in group.stock) and (
            problem.keep is not None or any(not stock.buy and stock.cost for stock in group.stock)
        )

    @property
    def bound(self) -> int:
        """What is proven that must be bought, in the problem's money."""
        return self.columns.bound

    @property
    def is_proven(self) -> bool:
        """Whether everything is cut and nothing could be bought cheaper."""
        return not self.best.left_out and self.best.bought <= self.bound

    def rounds(self) -> Iterator[None]:
        """Search until nothing is left to be gained, as far as is known."""
        if self.is_many:
            yield from self._many()
            return
        yield from self._starts(Walker(self.table, self.seed, PLAIN))
        columns, order, goal, value = self._generate(), self._anneal(), self._goal(), self._value()
        yield from islice(columns, BAR_ROUNDS if self.is_bars else COLUMN_ROUNDS)
        yield from self._shaken_starts()
        turn = 0
        while not self.is_proven:
            turn += 1
            yield from islice(columns, COLUMN_ROUNDS)
            # On bars the walk finds little that a dive does not, an order of pieces less.
            if not self.is_bars:
                yield from islice(order, ANNEAL_CHUNKS)
            yield from islice(goal, 1 if self.is_bars else GOAL_CHUNKS)
            if self.has_value and not self.best.left_out:
                yield from islice(value, VALUE_CHUNKS)
            if turn % CHOICE_TURNS == 0 and self.pool.fresh:
                self._choose()
                yield
        if self.has_value:
            yield from value

    def offer(self, sheets: list[Sheet]) -> bool:
        """Keep sheets where they are better than the best so far."""
        layouts = layouts_of(self.table, sheets)
        rated = objective.worth(self.problem, self.group.items, layouts)
        if self.layouts and rated >= self.best:
            return False
        self.best, self.layouts, self.sheets = rated, layouts, sheets
        for sheet in sheets:
            self.pool.add(sheet)
        return True

    # ---- few pieces ----

    def _starts(self, walker: Walker) -> Iterator[None]:
        for order, preferred in self._orders():
            walker.start(order, preferred)
            self.offer(walker.sheets())
            yield

    def _shaken_starts(self) -> Iterator[None]:
        """More starts, their orders by area or side but for some chance: cheap, and sometimes lucky."""
        walker, chance = Walker(self.table, self.seed, PLAIN), Random(self.seed)
        to_buy = [at for at, source in enumerate(self.table.sources) if source.stock.buy] or [-1]
        for turn in range(SHAKEN_STARTS):
            if self.is_proven:
                return
            key = (_area, _longer_side, _shorter_side)[turn % 3]
            keys = [key(item) * chance.uniform(0.7, 1.3) for item in self.group.items]
            walker.start(sorted(range(len(keys)), key=lambda at: -keys[at]), {chance.choice(to_buy)})
            self.offer(walker.sheets())
            yield

    def _orders(self) -> Iterator[tuple[list[int], set[int]]]:
        sources = self.table.sources
        to_buy = [number for number, source in enumerate(sources) if source.stock.buy]
        for key in (_area, _longer_side, _shorter_side):
            order = sorted(range(len(self.group.items)), key=lambda at: (-key(self.group.items[at]), at))
            for preferred in to_buy[:6] or [-1]:
                yield order, {preferred}

    def _quickest(self) -> tuple[Moves, int]:
        """The moves to search with, and how many steps are taken at a time."""
        moves = self.moves(self.seconds_left) if fits_machine_numbers(self.table) else PLAIN
        return moves, self.chunk or moves.chunk

    def _walker(self) -> tuple[Walker, int]:
        moves, chunk = self._quickest()
        return Walker(self.table, self.seed, moves), chunk

    def _anneal(self) -> Iterator[None]:
        """Anneal an order of the pieces towards less than the best plan buys, until that is proven the least."""
        moves, chunk = self._quickest()
        if not self.table.sources:
            return
        annealer = Annealer(self.table, self.seed, moves)
        chunk = max(1, round(chunk * DECODES_A_STEP * 100 / self.group.pieces))
        began, taken = self.seconds_left, 0
        while not self.is_proven:
            annealer.aim_below(NO_CAP if self.best.left_out else self.best.bought)
            if annealer.steps_left <= 0:
                spent = began - self.seconds_left
                annealer.begin_run(self.sheets, taken / spent * self.seconds_left if spent > 0 else inf)
            found = annealer.steps(chunk)
            taken += chunk
            sheets = annealer.sheets()
            for sheet in sheets:
                self.pool.add(sheet)
            if found:
                self.offer(sheets)
            yield

    def _goal(self) -> Iterator[None]:
        """Walk below what the best plan buys (or for less left out), until that is proven the least."""
        walker, chunk = self._walker()
        aimed: tuple[int, int] | None = None
        while not self.is_proven:
            now = self.best.left_out, self.best.bought
            if now != aimed or walker.is_stuck:
                if now == aimed:
                    walker.look_further_back()
                walker.restore(self.sheets)
                walker.aim_below(NO_CAP if self.best.left_out else self.best.bought - 1)
                aimed = now
            found = walker.steps(chunk)
            sheets = walker.sheets()
            for sheet in sheets:
                self.pool.add(sheet)
            if found or (self.best.left_out and walker.left_out < self.left_out_seen):
                self.left_out_seen = walker.left_out
                self.offer(sheets)
            yield

    def _value(self) -> Iterator[None]:
        """Walk among complete plans that buy no more, for less net rack value, until it gains nothing."""
        walker, chunk = self._walker()
        aimed, stale = -1, 0
        while stale < STALE_CHUNKS:
            if self.best.bought != aimed:
                walker.restore(self.sheets)
                walker.aim_for_value(self.best.bought)
                aimed, stale = self.best.bought, 0
            found = walker.steps(chunk)
            sheets = walker.sheets()
            for sheet in sheets:
                self.pool.add(sheet)
            stale = 0 if found and self.offer(sheets) else stale + 1
            yield

    # ---- columns ----

    def _generate(self) -> Iterator[None]:
        """Raise the bound by column generation; its layouts are good ones to choose from."""
        for sheet in self.sheets:
            self._tell_columns(sheet)
        for _ in self.columns.rounds():
            for column in self.columns.fresh:
                self._take_column(column)
            self.columns.effort_allowed = EFFORT_A_SECOND * self.seconds_left
            yield
            if self.is_proven:
                return
        if self.columns.exact is None or self.listed.boxes:
            return
        if self.is_bars:
            yield from self._dives(self.columns.exact)
        elif self.problem.stages is None:
            yield from self._dive(Dive(self.columns, self.columns.exact))

    def _dives(self, pricers: Pricers | StripPricers) -> Iterator[None]:
        """Dive for less than the best plan buys, until that is proven the least or nothing new comes up."""
        while not self.is_proven:
            before = self.best
            goal = None if self.best.left_out else self.best.bought - 1
            yield from self._dive(Dive(self.columns, pricers, goal, self.seed))
            if self.best == before:
                return

    def _dive(self, dive: Dive) -> Iterator[None]:
        """Fix layouts of the linear program one after the other; what is priced on the way is kept."""
        told = len(dive.columns)
        for _ in dive.steps():
            for column in dive.columns[told:]:
                self._take_column(column)
                self.columns.add(column)
            told = len(dive.columns)
            yield
            if self.is_proven:
                return
        sheets = [self._dived(row) for row in dive.chosen]
        if dive.failed or any(sheet is None for sheet in sheets):
            return
        self.offer([sheet for sheet in sheets if sheet is not None])
        self.whole_numbers = [sheet for sheet in sheets[: dive.first_fixed] if sheet is not None]

    def _strip_dives(self) -> Iterator[None]:
        """Dive once among layouts of strips."""
        pricers = StripPricers(self.problem, self.group)
        if not self.columns.to_buy or not pricers.can_price:
            return
        yield from self._dive(Dive(self.columns, pricers))

    def _dived(self, fixed: Fixed) -> Sheet | None:
        """The sheet of a whole column with only what was still wanted cut from it."""
        sheet = self._sheet_of(fixed.whole)
        return sheet and without(sheet, Counter(dict(fixed.whole.counts)) - Counter(dict(fixed.cut.counts)))

    def _sheet_of(self, column: Column) -> Sheet | None:
        """A column as a sheet: drawn from its cuts, or the one that it was told of."""
        number = self._source_number(column)
        if number is None:
            return None
        if column.cuts is not None:
            return sheet_of(self.table, number, column.cuts)
        known = self.pool.sheets.get((self.table.sources[number].number, column.counts))
        return known[1] if known else None

    def _source_number(self, column: Column) -> int | None:
        return self.numbers.get(self.columns.group.stock[column.stock].id)

    def _tell_columns(self, sheet: Sheet) -> None:
        stock = self.table.sources[sheet.source].stock
        number = next((at for at, row in enumerate(self.listed.stock) if row.id == stock.id), None)
        if number is None:
            return
        self.columns.add(Column(number, tuple(sorted(sheet.counts().items()))))

    def _take_column(self, column: Column) -> None:
        sheet = self._sheet_of(column) if column.is_layout else None
        if sheet is not None:
            self.pool.add(sheet)

    def _choose(self) -> None:
        """Choose anew among all sheets met so far."""
        self.pool.fresh = 0
        seconds = min(CHOICE_SECONDS, self.seconds_left / 4)
        sheets = cheapest_cover(self.pool, seconds, CHOICE_NODES)
        if sheets:
            self.offer(sheets)

    # ---- many pieces ----

    def _many(self) -> Iterator[None]:
        """Repeat whole layouts, and search only for what they leave over."""
        if self.listed.boxes:
            yield from self._off_the_rack()
            return
        for order, preferred in self._orders():
            self.offer(filled(self.table, order, preferred))
            yield
        if self.is_proven:
            return
        if not self.is_bars:
            yield from self._strip_dives()
            self._choose()
            yield
        columns = self._generate()
        if self.is_bars:
            yield from columns
        yield from self._in_turn(columns, self._rest_of(self._whole_numbers()))
        if not self.is_proven:
            self._choose()

    def _off_the_rack(self) -> Iterator[None]:
        """Cut from a rack of thousands what it holds, and search among what is to buy for the rest: first in a
        few ways, then on with the best of them and in more ways."""
        best = self.best
        further: Iterator[None] = iter(())
        plain = [order for order, _ in self._orders()][:: len(self.columns.to_buy[:6]) or 1]
        for order, by_value in product(plain, (False, True)):
            rest = yield from self._filled_off(order, by_value)
            if self.best < best:
                best, further = self.best, rest
            yield
        more = self._shaken_off()
        yield from self._in_turn(self._generate(), further, more)
        if self.has_value:
            yield from more

    def _shaken_off(self) -> Iterator[None]:
        """More of the same, in orders by area but for some chance."""
        chance, items = Random(self.seed), self.group.items
        for turn in range(SHAKEN_STARTS):
            keys = [_area(item) * chance.uniform(0.7, 1.3) for item in items]
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
        few = MANY_PIECES // 2
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
        rest = GroupSearch(self.problem, Group(tuple(items), there), self.seed, self.moves, self.chunk)
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


def _area(item: Item) -> int:
    return item.length * item.width


def _longer_side(item: Item) -> int:
    return max(item.length, item.width)


def _shorter_side(item: Item) -> int:
    return min(item.length, item.width)
