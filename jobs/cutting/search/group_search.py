"""The search for one group of parts: starts, bounds, goals ever lower, then the least rack value."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from itertools import islice
from math import inf
from random import Random

from jobs.cutting import objective
from jobs.cutting.clean import is_flawed
from jobs.cutting.columns import Columns
from jobs.cutting.dive import Dive, Fixed
from jobs.cutting.groups import Group
from jobs.cutting.layout import Layout
from jobs.cutting.objective import Worth
from jobs.cutting.pricers import Column, Pricers
from jobs.cutting.problem import Problem
from jobs.cutting.search.accelerate import PLAIN, Moves
from jobs.cutting.search.annealer import Annealer
from jobs.cutting.search.choose import Choice
from jobs.cutting.search.draw_up import layouts_of
from jobs.cutting.search.from_columns import sheet_of
from jobs.cutting.search.mixes import Mixes
from jobs.cutting.search.orders import LARGEST_FIRST
from jobs.cutting.search.pool import Pool
from jobs.cutting.search.sheets import Sheet, without
from jobs.cutting.search.state import fits_machine_numbers, table_of
from jobs.cutting.search.walker import NO_CAP, Walker
from jobs.cutting.shortlist import rack_in_boxes, shortlist
from jobs.cutting.strips import StripPricers

MANY_PIECES, FEW_COPIES, LARGE_RACK, MANY_PIECES_OF_A_LARGE_RACK = 400, 4, 400, 150
# One turn of the search: so many chunks of annealing and of walking lower, and a choice after so many turns, by
# whether there is one stock or many; chunks of walking for rack value; and so much pricing, each round of it some
# more than its pairs of pieces.
ONE_STOCK, MANY_STOCKS = (24, 1, 40), (12, 6, 2)
VALUE_CHUNKS = 4
FIRST_COLUMN_ROUNDS, EFFORT_A_TURN, EFFORT_A_ROUND = 20, 30_000_000, 1_500_000
# With several sizes to buy pricing gets so many times as much; more where dives within what is wanted win.
SHARE_OF_SEVERAL, SHARE_WITHIN = 2, 8
# Layouts within what is wanted: at most so many pairs of pieces a pricing, so many pricings in the time that is
# left, each pair so much dearer.
MOST_WITHIN, ROUNDS_WITHIN, EFFORT_WITHIN, MOST_A_SHEET = 20_000_000, 200, 4, 10
# Of the annealing so much goes to one mix of sheets each where the best plan has few sheets, else the rest of it.
SHARE_OF_MIXES, FEW_SHEETS, MIX_RUN, SHARE_OF_A_MIX = 0.75, 8, 2_000, 0.1
# A chunk of annealing decodes as many orders of a hundred pieces as this share of a chunk's steps.
DECODES_A_STEP = 0.8
# After so many of them the sheets of the order arrived at are noted, to choose among.
NOTED_DECODES = 400
BAR_ROUNDS = 400
STALE_CHUNKS = 40
SHAKEN_STARTS = 24
CHOICE_SECONDS, CHOICE_NODES = 2.0, 2_000

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
        are_many = has_many(group)
        self.listed = rack_in_boxes(group) if are_many else shortlist(problem, group)
        self.table = table_of(problem, group.items, group.stock if are_many else self.listed.stock)
        self.numbers = {source.stock.id: at for at, source in reversed(list(enumerate(self.table.sources)))}
        self.columns = Columns(problem, group, self.listed)
        self.is_bars = self.columns.is_bars and not any(is_flawed(stock) for stock in group.stock)
        self.pool = Pool(self.table)
        self.choice = Choice(self.pool)
        self.layouts: list[Layout] = []
        self.sheets: list[Sheet] = []
        self.best: Worth = objective.worth(problem, group.items, [])
        self.left_out_seen = 1 << 200
        self.whole_numbers: list[Sheet] = []
        self.seconds_left = inf
        self.effort_a_second, self.close_within = PLAIN.effort, None
        self.pricing_share = SHARE_OF_SEVERAL if len(self.columns.to_buy) > 1 else 1
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
        yield from self._starts(Walker(self.table, self.seed, PLAIN))
        # Compiled moves that are loaded already cost nothing; those that are not wait until they are needed.
        self._price_by(self.moves(0.0))
        columns, order, goal, value = self.generate(), self._anneal(), self._goal(), self._value()
        yield from islice(columns, BAR_ROUNDS if self.is_bars else FIRST_COLUMN_ROUNDS)
        yield from self._shaken_starts()
        shares = ONE_STOCK if len(self.table.sources) == 1 else MANY_STOCKS
        anneal_chunks, goal_chunks, choice_turns = shares
        turn, next_choice, patience = 0, choice_turns, choice_turns
        while not self.is_proven:
            turn += 1
            yield from self._for_a_turn(columns)
            # On bars the walk finds little that a dive does not, an order of pieces less.
            if not self.is_bars:
                yield from islice(order, anneal_chunks)
            yield from islice(goal, goal_chunks)
            if self.has_value and not self.best.left_out:
                yield from islice(value, VALUE_CHUNKS)
            if turn >= next_choice and self.pool.fresh:
                # What was chosen in vain is chosen again only when there is twice as much to choose from.
                patience = choice_turns if self.choose() else 2 * patience
                next_choice = turn + patience
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
        for order, preferred in self.orders():
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
            key = LARGEST_FIRST[turn % len(LARGEST_FIRST)]
            keys = [key(item) * chance.uniform(0.7, 1.3) for item in self.group.items]
            walker.start(sorted(range(len(keys)), key=lambda at: -keys[at]), {chance.choice(to_buy)})
            self.offer(walker.sheets())
            yield

    def orders(self) -> Iterator[tuple[list[int], set[int]]]:
        sources = self.table.sources
        to_buy = [number for number, source in enumerate(sources) if source.stock.buy]
        for key in LARGEST_FIRST:
            order = sorted(range(len(self.group.items)), key=lambda at: (-key(self.group.items[at]), at))
            for preferred in to_buy[:6] or [-1]:
                yield order, {preferred}

    def _quickest(self) -> tuple[Moves, int]:
        """The moves to search with, and how many steps are taken at a time."""
        moves = self.moves(self.seconds_left) if fits_machine_numbers(self.table) else PLAIN
        self._price_by(moves)
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
        mixes = Mixes(self.columns.to_buy, self.seed)
        began = self.seconds_left
        while not self.is_proven:
            annealer.aim_below(NO_CAP if self.best.left_out else self.best.bought)
            spent = began - self.seconds_left
            allowed = annealer.taken / spent * self.seconds_left if spent > 0 else inf
            if annealer.steps_left <= 0:
                self._begin_run(annealer, mixes, allowed)
            else:
                annealer.keep_time(allowed)
            for _ in range(-(-chunk // NOTED_DECODES)):
                if annealer.steps(min(chunk, NOTED_DECODES)):
                    self.offer(annealer.sheets())
                    break
                annealer.note(self.pool)
            yield

    def _begin_run(self, annealer: Annealer, mixes: Mixes, allowed: float) -> None:
        """Begin a run of the annealing: of any sheets, or of a mix of them cheaper than the best plan's."""
        bought = Counter(self.table.sources[sheet.source].stock.id for sheet in self.sheets)
        used = tuple(bought[row.id] for row in self.columns.to_buy)
        share = SHARE_OF_MIXES if sum(used) <= FEW_SHEETS else 1 - SHARE_OF_MIXES
        mix = None
        if len(used) > 1 and not self.best.left_out and mixes.steps < share * annealer.taken:
            mix = mixes.next(used, self.best.bought, self.columns.proofs)
        if mix is None:
            annealer.begin_run(self.sheets, allowed)
            return
        numbers = {
            self.numbers[row.id]: count for row, count in zip(self.columns.to_buy, mix, strict=True) if count
        }
        steps = int(min(MIX_RUN * self.group.pieces, max(SHARE_OF_A_MIX * allowed, 1.0)))
        mixes.steps += steps
        annealer.begin_run_of(numbers, self.sheets, steps)

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

    def _for_a_turn(self, columns: Iterator[None]) -> Iterator[None]:
        """As many rounds of pricing as one turn of the search has effort for, one at the least."""
        effort, most = 0, EFFORT_A_TURN * self.pricing_share
        while effort < most and next(columns, _ENDED) is not _ENDED:
            effort += EFFORT_A_ROUND + self.columns.effort
            yield

    def _price_by(self, moves: Moves) -> None:
        self.columns.close, self.effort_a_second = moves.close, moves.effort
        # Plain, this takes a hundred times as long. A search of so many rounds is the same compiled and plain.
        is_by_the_clock = moves is not PLAIN and self.chunk is None
        self.close_within = moves.close_within if is_by_the_clock else None

    def generate(self) -> Iterator[None]:
        """Raise the bound by column generation; its layouts are good ones to choose from."""
        for sheet in self.sheets:
            self._tell_columns(sheet)
        for _ in self.columns.rounds():
            for column in self.columns.fresh:
                self._take_column(column)
            self.columns.effort_allowed = self.effort_a_second * self.seconds_left
            yield
            if self.is_proven:
                return
        if self.columns.exact is None or self.listed.boxes:
            return
        if self.is_bars:
            yield from self._dives(self.columns.exact)
        elif self.problem.stages is None:
            within = self._pricers_within()
            yield from self._dive(Dive(self.columns, within or self.columns.exact))
            if within is not None:
                yield from self._dives(within)

    def _pricers_within(self) -> Pricers | None:
        """Pricers that cut no part too often, where there are several sizes of stock and time for it."""
        # A sheet of many small parts is filled better by annealing than by one layout for each rectangle.
        if self.group.pieces > MOST_A_SHEET * len(self.sheets):
            return None
        most = int(min(MOST_WITHIN, self.effort_a_second * max(self.seconds_left, 0) / ROUNDS_WITHIN))
        if self.close_within is None or len(self.group.stock) == 1 or not most:
            return None
        pricers = Pricers(self.problem, self.group, most, self.close_within)
        self.columns.effort = EFFORT_WITHIN * pricers.effort
        is_allowed = pricers.all_exact and pricers.effort <= most
        if is_allowed and self.pricing_share == SHARE_OF_SEVERAL:
            self.pricing_share = SHARE_WITHIN
        return pricers if is_allowed else None

    def _dives(self, pricers: Pricers | StripPricers) -> Iterator[None]:
        """Dive for less than the best plan buys, until that is proven the least or nothing new comes up."""
        while not self.is_proven:
            before = self.best
            yield from self._dive(Dive(self.columns, pricers, self._goal_now(), self.seed))
            if self.best == before:
                return

    def _goal_now(self) -> int | None:
        return None if self.best.left_out else self.best.bought - 1

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
            if dive.goal is not None:
                dive.goal = self._goal_now()
        sheets = [self._dived(row) for row in dive.chosen]
        if dive.failed or any(sheet is None for sheet in sheets):
            return
        self.offer([sheet for sheet in sheets if sheet is not None])
        self.whole_numbers = [sheet for sheet in sheets[: dive.first_fixed] if sheet is not None]

    def strip_dives(self) -> Iterator[None]:
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
        return self.pool.sheet((self.table.sources[number].number, column.counts))

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

    def choose(self) -> bool:
        """Choose anew among all sheets met so far; whether that gave a better plan."""
        # Rounds that are counted take what time they need, so that the same ones give the same plan.
        seconds = (
            self.seconds_left if self.seconds_left == inf else min(CHOICE_SECONDS, self.seconds_left / 3)
        )
        now = [] if self.best.left_out else self.sheets
        sheets = self.choice.better_than(now, seconds, CHOICE_NODES)
        return bool(sheets) and self.offer(sheets)


def has_many(group: Group) -> bool:
    """Whether a group has more parts than can be searched piece by piece."""
    if len(group.stock) > LARGE_RACK:
        return group.pieces > MANY_PIECES_OF_A_LARGE_RACK
    # With few copies of each there are hardly whole layouts to repeat.
    return group.pieces > MANY_PIECES * (2 if group.pieces <= FEW_COPIES * len(group.items) else 1)
