"""Drives the annealing of one group's order of pieces: its rows, its runs, and the sheets it arrives at."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import partial
from random import Random

from jobs.cutting.search import kernel
from jobs.cutting.search.accelerate import Moves
from jobs.cutting.search.decoder import (
    A_CHOICES,
    A_OPENED,
    A_SORTS,
    A_STAGES,
    AIM,
    COOLING,
    EITHER,
    HEAT,
    LEFT_WEIGHT,
    NOW,
)
from jobs.cutting.search.kernel import LIVE, RANDOM, STAGES, Rows
from jobs.cutting.search.pool import Pool
from jobs.cutting.search.sheets import Sheet, sheets_of
from jobs.cutting.search.state import State, Table, fresh_state
from jobs.cutting.search.walk import clear_sheet

# Temperatures in sheets: at the first one a sheet more in twelve tries is taken, at the last hardly any loss.
HOTTEST, COLDEST = 0.08, 0.003
SHORTEST_RUN, LONGEST_RUN = 150, 20_000
MOST_OF_RACK = 60
# What a uniform number stands for when a loss is weighed against the temperature.
CHANCES = [-math.log((number + 0.5) / 1024) for number in range(1024)]


class Annealer:
    """One order of pieces, annealed in runs: short ones, each twice as long as the one before, until it is known
    how long there is."""

    def __init__(self, table: Table, seed: int, moves: Moves) -> None:
        self.table, self.moves, self.chance = table, moves, Random(seed)
        self.pieces = [item for item, row in enumerate(table.items) for _ in range(row.quantity)]
        self.state = fresh_state(table, seed)
        self.stack = [0] * len(self.state.tree[0])
        self.numbers: list[int] = []
        self.is_last = False
        self.run, self.steps_left, self.taken, self.noted = SHORTEST_RUN, 0, 0, math.inf
        row = moves.row
        count = [0] * (RANDOM + 1)
        count[A_STAGES], count[A_SORTS] = self.state.count[STAGES], self.state.count[kernel.SORTS]
        count[RANDOM] = 1 + seed % 2147483646
        self.count, self.heat, self.chances = row(count), row([0.0] * 5), row(CHANCES)
        areas = self.state.items[3]
        order = sorted(range(len(self.pieces)), key=lambda piece: (-areas[self.pieces[piece]], piece))
        self.genes = tuple(map(row, (order, [0] * len(order), [0] * (len(order) + 1))))
        self.tried = tuple(map(row, (order, order, [0] * (len(order) + 1))))
        self.items = tuple(map(row, self._item_rows()))
        self.log = tuple(row([0] * (len(order) + 1)) for _ in range(4))

    def _item_rows(self) -> Sequence[list[int]]:
        long, wide, _, area, okay = self.state.items
        sorts = self.state.count[kernel.SORTS]
        turns = [int(any(okay[at * sorts + k] & 2 for k in range(sorts))) for at in range(len(long))]
        return long, wide, okay, turns, self.pieces, area

    # ---- runs ----

    def aim_below(self, spent: int) -> None:
        """From now on plans are wanted that cost less than this; a run goes on where it is."""
        self.heat[AIM] = float(spent)

    def begin_run(self, sheets: list[Sheet], allowed: float = math.inf) -> None:
        """Heat up; sheets are the best known ones, allowed is about how many steps there is time for.

        One long run finds more than several short ones: it takes all the time there is, or the longest run's.
        """
        self._offer_sources(sheets)
        self.run = min(self.run * 2, LONGEST_RUN)
        longest = float(LONGEST_RUN * len(self.pieces))
        self._heat_up(float(self.run * len(self.pieces)) if allowed == math.inf else longest)
        self.is_last = allowed < 2 * longest
        self.keep_time(allowed)

    def keep_time(self, allowed: float) -> None:
        """Cool the last run so that it is cold when its time is up, allowed being about how many steps that is."""
        if self.is_last and self.steps_left > 0:
            steps = max(0.95 * allowed, 1.0)
            self.steps_left = int(steps)
            self.heat[COOLING] = min(1.0, COLDEST / float(self.heat[HEAT])) ** (1 / steps)

    def begin_run_of(self, mix: Mapping[int, int], sheets: list[Sheet], steps: int) -> None:
        """Heat up to cut all from so many of each source to buy, and the rack; sheets are the best known ones."""
        self._offer_sources(sheets)
        groups, most = self.sources[0], [int(limit) for limit in self.sources[1]]
        place = {number: at for at, number in enumerate(self.numbers)}
        for at, number in enumerate(self.numbers):
            if self.table.sources[number].stock.buy:
                most[int(groups[at])] = mix.get(number, 0)
        self.sources[1][:] = self.moves.row(most)
        wanted = [place[number] for number, count in mix.items() for _ in range(count)]
        self.chance.shuffle(wanted)
        self.is_last = False
        rack = [place[sheet.source] for sheet in sheets if not self.table.sources[sheet.source].stock.buy]
        self._wish([*rack, *wanted], wanted[-1] if wanted else len(self.numbers) - 1)
        self._heat_up(float(steps))

    def _heat_up(self, steps: float) -> None:
        self.steps_left = int(steps)
        self.heat[NOW], self.heat[HEAT] = 1e300, HOTTEST
        self.heat[COOLING] = (COLDEST / HOTTEST) ** (1 / steps)

    def _offer_sources(self, sheets: list[Sheet]) -> None:
        """The stock that may be opened, first that of the best plan; of a large rack only some more."""
        used = Counter(sheet.source for sheet in sheets)
        rack = [at for at, source in enumerate(self.table.sources) if not source.stock.buy]
        if not self.numbers or len(rack) > MOST_OF_RACK:
            unused = [at for at in rack if at not in used]
            more = self.chance.sample(unused, min(MOST_OF_RACK, len(unused)))
            buyable = [at for at, source in enumerate(self.table.sources) if source.stock.buy]
            buyable.sort(key=lambda at: (_rate(self.table, at), at))
            self.numbers = [*sorted({at for at in rack if at in used} | set(more)), *buyable]
            self._make_source_rows()
        place = {number: at for at, number in enumerate(self.numbers)}
        usual = max(
            used, key=lambda at: (self.table.sources[at].stock.buy, used[at]), default=self.numbers[-1]
        )
        self.sources[1][:] = self.moves.row(self.state.sources[6])
        self._wish(sorted(place[at] for at in used.elements()), place[usual])

    def _wish(self, choice: list[int], usual: int) -> None:
        """Which source each new sheet should be of: first these, then the usual one."""
        longest = len(self.pieces) + 1
        self.genes[2][:] = self.moves.row((choice + [usual] * longest)[:longest])

    def _make_source_rows(self) -> None:
        row, state = self.moves.row, self.state
        long, wide, groups, cost, sorts, axes, left, first, last, patterns = state.sources[:10]
        rooms: list[tuple[int, int, int, int]] = []
        starts, stops = [], []
        for s in self.numbers:
            starts.append(len(rooms))
            if first[s] == last[s]:
                rooms.append((long[s], wide[s], EITHER if axes[s] == 3 else axes[s] - 1, 1))
            for at in range(first[s] * 7, last[s] * 7, 7):
                if patterns[at + 5] and patterns[at + 6] <= state.count[STAGES]:
                    rooms.append((patterns[at + 2], patterns[at + 3], patterns[at + 1], patterns[at + 6]))
            stops.append(len(rooms))
        picked = [[values[s] for s in self.numbers] for values in (groups, sorts)]
        self.sources = tuple(map(row, (picked[0], left, picked[1], starts, stops)))
        self.rooms = tuple(row([room[k] for room in rooms]) for k in range(4))
        most = max((stop - start for start, stop in zip(starts, stops, strict=True)), default=1)
        size = (most + 2) * len(self.pieces) + 4
        self.rects = tuple(row([0] * size) for _ in range(6))
        self.used = row([0] * len(left))
        self.costs = row([cost[s] for s in self.numbers])
        self._make_prices()
        self.count[A_CHOICES] = len(self.numbers)

    def _make_prices(self) -> None:
        """Prices and areas of the sources in sheets of the usual price; rack value counts little."""
        table, row = self.table, self.moves.row
        rooms = [self.state.sources[0][s] * self.state.sources[1][s] for s in self.numbers]
        stock = [table.sources[s].stock for s in self.numbers]
        costs = [one.cost for one in stock if one.buy and one.cost] or [one.cost for one in stock]
        usual = max(costs) or 1
        rates = [one.cost / room for one, room in zip(stock, rooms, strict=True) if one.buy and one.cost]
        rate = min(rates, default=usual / max(rooms, default=1))
        rack = sum(one.cost for one in stock if not one.buy) or 1
        prices = [one.cost if one.buy else 0.01 * usual * one.cost / rack for one in stock]
        self.prices = row([price / usual for price in prices])
        self.sizes = row([float(room) for room in rooms])
        self.weights = row([room * rate / usual for room in rooms])
        self.heat[LEFT_WEIGHT] = 4 * rate / usual

    def steps(self, number: int) -> bool:
        """Take so many steps; true where they found everything cut for less than what is aimed below."""
        self.steps_left -= number
        self.taken += number
        found = self.moves.anneal(
            number, self.genes, self.tried, self.items, self.sources, self.rooms, self.rects, self.log,
            self.used, self.count, self.costs, self.prices, self.sizes, self.weights, self.heat, self.chances,
        )  # fmt: skip
        return bool(found)

    # ---- what is there ----

    def sheets(self) -> list[Sheet]:
        """The sheets that the accepted order decodes to."""
        self._decode(self.genes)
        return self._drawn(self.genes)

    def note(self, pool: Pool) -> None:
        """Note the sheets of the accepted order, without drawing them; nothing where it is the same as before."""
        if self.noted == self.heat[NOW]:
            return
        self.noted = float(self.heat[NOW])
        self._decode(self.genes)
        order, rule, places, on_sheet, opened = (
            list(map(int, row)) for row in (self.genes[0], self.genes[1], *self.log[:3])
        )
        cut_from: list[list[int]] = [[] for _ in range(self.count[A_OPENED])]
        for piece, place, sheet in zip(order, places, on_sheet, strict=False):
            if place >= 0:
                cut_from[sheet].append(piece)
        for pieces, source in zip(cut_from, opened, strict=False):
            number = self.numbers[source]
            counts = Counter(self.pieces[piece] for piece in pieces)
            key = self.table.sources[number].number, tuple(sorted(counts.items()))
            if key not in pool.sheets:
                rules = {piece: rule[piece] for piece in pieces}
                pool.note(key, partial(self._drawn_alone, number, rules))

    def _drawn_alone(self, number: int, rules: dict[int, int]) -> Sheet | None:
        """The sheet that these pieces make in their order; None where they go on it only among others."""
        if number not in self.numbers:
            return None
        rule = [rules.get(piece, 0) for piece in range(len(self.pieces))]
        choice = [self.numbers.index(number)] * (len(rules) + 1)
        genes = tuple(map(self.moves.row, (list(rules), rule, choice)))
        # A run may be kept to a mix without this stock; what is drawn here may be of any that is there.
        run_of, self.sources = self.sources, self._any_stock()
        missing = self._decode(genes)
        self.sources = run_of
        return None if missing or self.count[A_OPENED] > 1 else self._drawn(genes)[0]

    def _any_stock(self) -> Rows:
        """The rows of the sources, as many of each to be had as there are."""
        return (self.sources[0], self.moves.row(list(self.state.sources[6])), *self.sources[2:])

    def _decode(self, genes: Rows) -> int:
        """Lay out an order; how many of its pieces could not be cut."""
        missing = self.moves.decode(
            genes, self.items, self.sources, self.rooms, self.rects, self.log, self.used, self.count
        )
        return int(missing)

    def _drawn(self, genes: Rows) -> list[Sheet]:
        """What was decoded last, as sheets."""
        order, places, opened = (list(map(int, row)) for row in (genes[0], self.log[0], self.log[2]))
        _Replay(self, self.state).run(order, places, opened[: self.count[A_OPENED]])
        found = sheets_of(self.state)
        items, tree, sheets, sources, count = self.state.rows()
        while count[LIVE]:
            clear_sheet(sheets[3][0], items, tree, sheets, sources, count, self.stack)
        return found


class _Replay:
    """Cuts on trees what the decoder cut on free rectangles."""

    def __init__(self, annealer: Annealer, state: State) -> None:
        self.annealer, self.state = annealer, state
        self.nodes: list[int] = []
        self.rects: list[tuple[int, int]] = []

    def run(self, order: list[int], places: list[int], opened: list[int]) -> None:
        """Put each piece where the log says; a place beyond the free rectangles is on the next sheet."""
        waiting = iter(opened)
        for piece, place in zip(order, places, strict=False):
            if place < 0:
                continue
            rip, turned, at = place % 2, place // 2 % 2, place // 4
            item = self.annealer.pieces[piece]
            if at >= len(self.nodes):
                self._open(next(waiting), item, rip)
            self._put(item, at, turned, rip)

    def _open(self, source: int, item: int, rip: int) -> None:
        items, tree, sheets, sources, count = self.state.rows()
        s = self.annealer.numbers[source]
        axes = sources[5][s]
        axis = rip if axes == 3 else axes - 1
        code = kernel.open_sheet((s * 2) * 4 + axis, item, items, tree, sheets, sources, count)
        first, last, patterns = sources[7][s], sources[8][s], sources[9]
        if first == last:
            self.nodes.append(code // 8)
        for row in range(first, last):
            if patterns[row * 7 + 5] and patterns[row * 7 + 6] <= count[STAGES]:
                self.nodes.append(sources[10][row])

    def _put(self, item: int, at: int, turned: int, rip: int) -> None:
        """Cut the piece out of this free rectangle; the rests take their places as in `decode`."""
        items, tree, sheets, sources, count = self.state.rows()
        first, long, wide, axis, free, level = tree[1], tree[4], tree[5], tree[6], tree[7], tree[9]
        n = self.nodes[at]
        a, b = (items[1][item], items[0][item]) if turned else (items[0][item], items[1][item])
        one, two = (free[n] - a, wide[n] - b) if axis[n] == 0 else (long[n] - a, free[n] - b)
        is_way_two = axis[n] != rip
        kernel.put((n * 2 + turned) * 4 + 1 + is_way_two, item, items, tree, sheets, sources, count)
        self.nodes[at] = self.nodes[-1]
        self.nodes.pop()
        inner = first[n]
        # The rest along the first cut stays with the node that is cut first, the other with the strip.
        whole, strip = (inner, first[inner]) if is_way_two else (n, inner)
        rests = ((two, whole if rip else strip), (one, strip if rip else whole))
        self.nodes += [node for rest, node in rests if rest > 0 and level[node] <= count[STAGES]]


def _rate(table: Table, number: int) -> float:
    stock = table.sources[number].stock
    return stock.cost / (stock.length * stock.width)
