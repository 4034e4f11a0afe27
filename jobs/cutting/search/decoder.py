"""Annealing an order of pieces: what it decodes to is a set of layouts. Compiled like `kernel.py`.

Each piece in turn goes to the free rectangle, of all sheets, that it fits best along one side, and is cut out, by
its own rule; where it fits none, the next sheet is opened. A swap, a move, a short reversal or
another rule changes the whole plan a little, and is kept or not by simulated annealing (Kirkpatrick, Gelatt &
Vecchi 1983; orders decoded by best short-side fit: Jylänki 2010). Full sheets are rewarded (Falkenauer 1996, by
the square of what is filled; its fourth power found fewer sheets here). Sizes include one kerf, axes and levels
are those of `kernel.py`.
"""

from jobs.cutting.search.kernel import draw

Row = list[int]
Rows = tuple[Row, ...]

# Rules: the first cut runs along the shorter rest of the rectangle, along the longer, rip, crosscut; each for a
# piece that lies as it fits better, straight, or turned; each where the rest on the shorter side is least, or on
# the longer one.
ALONG_SHORTER, ALONG_LONGER, CUTS = 0, 1, 4
AS_IT_FITS, STRAIGHT, TURNED, LIES = 0, 1, 2, 3
BY_LONGER, RULES = CUTS * LIES, 2 * CUTS * LIES
# A rest that no piece leaves; and how rests, turns and numbers of rectangles are packed into one.
NOWHERE, A_TURN, NUMBERS = 1 << 60, 1 << 20, 1 << 21
# The axis of a whole sheet that may be cut either way first.
EITHER = 2
# Where the numbers of a run stand in `count` (RANDOM is the kernel's) and in `heat`.
A_OPENED, A_STAGES, A_SORTS, A_CHOICES = 0, 1, 2, 3
NOW, AIM, HEAT, COOLING, LEFT_WEIGHT = 0, 1, 2, 3, 4


def next_source(
    base: int, a: int, b: int, wanted: int, okay: Row, used: Row, group: Row, most: Row, sort: Row,
    start: Row, stop: Row, rooms_long: Row, rooms_wide: Row,
) -> int:  # fmt: skip
    """The source to open: the wanted one where a piece of it is left that holds a × b, else the first; -1."""
    for at in range(-1, len(group)):
        s = wanted if at < 0 else at
        if used[group[s]] < most[group[s]]:
            ways = okay[base + sort[s]]
            for r in range(start[s], stop[s]):
                if ways & 1 and a <= rooms_long[r] and b <= rooms_wide[r]:
                    return s
                if ways & 2 and b <= rooms_long[r] and a <= rooms_wide[r]:
                    return s
    return -1


def best_rectangle(
    base: int, a: int, b: int, turns: int, lies: int, by_longer: bool, first: int, last: int,
    okay: Row, r_long: Row, r_wide: Row, r_sort: Row,
) -> int:  # fmt: skip
    """The free rectangle of these with the least rest on its shorter side, or longer one; -1 where none holds it.

    Times two, plus 1 if the piece is turned.
    """
    least, best = NOWHERE, -1
    if lies != TURNED:
        for r in range(first, last):
            one, two = r_long[r] - a, r_wide[r] - b
            rest = two if (one < two) == by_longer else one
            if (one | two) >= 0 and rest < least and okay[base + r_sort[r]] & 1:
                least, best = rest, r * 2
    if turns and lies != STRAIGHT:
        for r in range(first, last):
            one, two = r_long[r] - b, r_wide[r] - a
            rest = two if (one < two) == by_longer else one
            if (one | two) >= 0 and rest < least and okay[base + r_sort[r]] & 2:
                least, best = rest, r * 2 + 1
    return best


def best_of_one_sort(
    a: int, b: int, ways: int, by_longer: bool, last: int, r_long: Row, r_wide: Row
) -> int:  # fmt: skip
    """The same where all stock is of one sort, on which a piece may lie straight (1), turned (2) or both (3).

    Without branches, so that the compiler works on several rectangles at once: the rest, how the piece lies
    and the number are compared as one.
    """
    least = NOWHERE
    if ways & 1:
        for r in range(last):
            one, two = r_long[r] - a, r_wide[r] - b
            shorter = one if one < two else two
            rest = one + two - shorter if by_longer else shorter
            key = rest * NUMBERS + r if shorter >= 0 else NOWHERE
            least = key if key < least else least
    if ways & 2:
        for r in range(last):
            one, two = r_long[r] - b, r_wide[r] - a
            shorter = one if one < two else two
            rest = one + two - shorter if by_longer else shorter
            key = rest * NUMBERS + A_TURN + r if shorter >= 0 else NOWHERE
            least = key if key < least else least
    if least == NOWHERE:
        return -1
    number = least % NUMBERS
    return (number - A_TURN) * 2 + 1 if number >= A_TURN else number * 2


def cuts_rip_first(rule: int, one: int, two: int, axis: int, level: int, stages: int) -> bool:
    """Whether a piece is cut out of its rectangle by a rip first; one and two are its rests along x and y."""
    if two == 0:
        rip = False
    elif one == 0:
        rip = True
    elif rule == ALONG_SHORTER:
        rip = one < two
    elif rule == ALONG_LONGER:
        rip = one >= two
    else:
        rip = rule == 2
    if level >= stages and axis != EITHER:
        # No cut in another direction is left but the one that only trims this piece.
        rip = axis == 1
    return rip


def decode(
    genes: Rows, items: Rows, sources: Rows, rooms: Rows, rects: Rows, log: Rows, used: Row, count: Row
) -> int:
    """Lay out all pieces in their order; how many could not be cut. `log` says where each went.

    log: code of each piece's place (-1: none) and its sheet, source and load in area of each sheet opened.
    """
    order, rule, choice = genes
    long, wide, okay, turns, item_of, _ = items
    stages, sorts = count[A_STAGES], count[A_SORTS]
    group, most, sort_of, start, stop = sources
    rooms_long, rooms_wide, rooms_axis, rooms_level = rooms
    r_long, r_wide, r_axis, r_level, r_sheet, r_sort = rects
    places, on_sheet, opened_of, load = log
    for g in range(len(used)):
        used[g] = 0
    free, opened, missing = 0, 0, 0
    for at in range(len(order)):
        piece = order[at]
        item = item_of[piece]
        base, a, b = item * sorts, long[item], wide[item]
        lies = rule[piece] // CUTS % LIES if turns[item] else AS_IT_FITS
        by_longer = rule[piece] >= BY_LONGER
        if sorts == 1:
            ways = okay[item]
            some = ways & lies if lies else ways
            found = best_of_one_sort(a, b, some, by_longer, free, r_long, r_wide)
            if found < 0 and some != ways:
                found = best_of_one_sort(a, b, ways, by_longer, free, r_long, r_wide)
        else:
            found = best_rectangle(
                base, a, b, turns[item], lies, by_longer, 0, free, okay, r_long, r_wide, r_sort
            )
            if found < 0 and lies != AS_IT_FITS:
                found = best_rectangle(
                    base, a, b, turns[item], AS_IT_FITS, by_longer, 0, free, okay, r_long, r_wide, r_sort
                )
        if found < 0:
            s = next_source(
                base, a, b, choice[opened], okay, used, group, most, sort_of, start, stop,
                rooms_long, rooms_wide,
            )  # fmt: skip
            if s < 0:
                places[at] = -1
                missing += 1
                continue
            used[group[s]] += 1
            opened_of[opened], load[opened] = s, 0
            fresh = free
            for room in range(start[s], stop[s]):
                r_long[free], r_wide[free], r_axis[free] = (
                    rooms_long[room],
                    rooms_wide[room],
                    rooms_axis[room],
                )
                r_level[free], r_sheet[free], r_sort[free] = rooms_level[room], opened, sort_of[s]
                free += 1
            opened += 1
            found = best_rectangle(
                base, a, b, turns[item], AS_IT_FITS, by_longer, fresh, free, okay, r_long, r_wide, r_sort
            )
        r, turned = found // 2, found % 2
        if turned:
            a, b = b, a
        whole, across, axis, level, sheet = r_long[r], r_wide[r], r_axis[r], r_level[r], r_sheet[r]
        one, two = whole - a, across - b
        rip = cuts_rip_first(rule[piece] % CUTS, one, two, axis, level, stages)
        places[at] = (r * 2 + turned) * 2 + (1 if rip else 0)
        on_sheet[at] = sheet
        load[sheet] += a * b
        sort = r_sort[r]
        free -= 1
        r_long[r], r_wide[r], r_axis[r] = r_long[free], r_wide[free], r_axis[free]
        r_level[r], r_sheet[r], r_sort[r] = r_level[free], r_sheet[free], r_sort[free]
        # The rest above the piece and the rest beside it; the first cut gives its rest the whole rectangle.
        deeper = 1 if axis == (0 if rip else 1) else 0
        if two > 0:
            deep = level + deeper + (0 if rip else 1)
            if deep <= stages:
                r_long[free], r_wide[free], r_axis[free] = (whole if rip else a), two, 1
                r_level[free], r_sheet[free], r_sort[free] = deep, sheet, sort
                free += 1
        if one > 0:
            deep = level + deeper + (1 if rip else 0)
            if deep <= stages:
                r_long[free], r_wide[free], r_axis[free] = one, (b if rip else across), 0
                r_level[free], r_sheet[free], r_sort[free] = deep, sheet, sort
                free += 1
    count[A_OPENED] = opened
    return missing


def rate(
    missing: int, order: Row, item_of: Row, area: Row, places: Row, opened_of: Row, load: Row, opened: int,
    prices: list[float], sizes: list[float], weights: list[float], left_weight: float,
) -> float:  # fmt: skip
    """What is wanted little of: money spent, pieces left out, and sheets half full."""
    cost = 0.0
    for at in range(opened):
        s = opened_of[at]
        fill = load[at] / sizes[s]
        square = fill * fill
        cost += prices[s] - weights[s] * square * square
    if missing:
        for at in range(len(order)):
            if places[at] < 0:
                cost += left_weight * area[item_of[order[at]]]
    return cost


def spent_on(opened_of: Row, opened: int, costs: Row) -> int:
    """What the sheets opened cost to buy."""
    spent = 0
    for at in range(opened):
        spent += costs[opened_of[at]]
    return spent


def change(order: Row, rule: Row, choice: Row, count: Row) -> None:
    """One random change: a swap, a move, a short reversal, another rule, another sheet to open."""
    kind, number = draw(count, 20), len(order)
    i, j = draw(count, number), draw(count, number)
    if kind < 8:
        order[i], order[j] = order[j], order[i]
    elif kind < 14:
        piece = order[i]
        while i < j:
            order[i] = order[i + 1]
            i += 1
        while i > j:
            order[i] = order[i - 1]
            i -= 1
        order[j] = piece
    elif kind < 16:
        j = min(number - 1, i + 1 + draw(count, 6))
        while i < j:
            order[i], order[j] = order[j], order[i]
            i += 1
            j -= 1
    elif kind < 18 or count[A_CHOICES] < 2:
        rule[order[i]] = draw(count, RULES)
    else:
        i = draw(count, count[A_OPENED] + 1) % number
        if kind == 18:
            choice[i] = draw(count, count[A_CHOICES])
        else:
            j = draw(count, count[A_OPENED] + 1) % number
            choice[i], choice[j] = choice[j], choice[i]


def anneal(
    steps: int, genes: Rows, tried: Rows, items: Rows, sources: Rows, rooms: Rows, rects: Rows, log: Rows,
    used: Row, count: Row, costs: Row, prices: list[float], sizes: list[float], weights: list[float],
    heat: list[float], chances: list[float],
) -> int:  # fmt: skip
    """Take so many steps; 1 as soon as everything is cut for less than heat[AIM], else 0.

    `genes` is the order that the walk has accepted, `tried` room for another; heat[NOW] is what it is rated.
    """
    order, rule, choice = genes
    new_order, new_rule, new_choice = tried
    places, _, opened_of, load = log
    item_of, area = items[4], items[5]
    for _ in range(steps):
        new_order[:] = order
        new_rule[:] = rule
        new_choice[:] = choice
        change(new_order, new_rule, new_choice, count)
        missing = decode(tried, items, sources, rooms, rects, log, used, count)
        cost = rate(
            missing, new_order, item_of, area, places, opened_of, load, count[A_OPENED],
            prices, sizes, weights, heat[LEFT_WEIGHT],
        )  # fmt: skip
        is_aim = missing == 0 and spent_on(opened_of, count[A_OPENED], costs) < heat[AIM]
        if is_aim or cost <= heat[NOW] + heat[HEAT] * chances[draw(count, len(chances))]:
            heat[NOW] = cost
            order[:] = new_order
            rule[:] = new_rule
            choice[:] = new_choice
        heat[HEAT] *= heat[COOLING]
        if is_aim:
            return 1
    return 0
