"""The walk among sets of layouts: ruin a few places, recreate, accept late. Compiled like `kernel.py`."""

from math import sqrt

from jobs.cutting.search.kernel import (
    CAP,
    ITEM_FREE,
    LEFT,
    LIVE,
    OPEN,
    RANDOM,
    SPENT,
    STEP,
    Row,
    Rows,
    close_sheet,
    draw,
    find_place,
    put,
    take_out,
    tidy_above,
)

Numbers = tuple[Rows, Rows, Rows, Rows, Row]

# Where the weights of `cost_of` stand: area left out, rack value, leftover value, keep sizes, kerf.
W_LEFT, W_RACK, W_TIE, W_BIG, W_SMALL, W_KERF = 0, 1, 2, 3, 4, 5


def clear_sheet(
    at: int, items: Rows, tree: Rows, sheets: Rows, sources: Rows, count: Row, stack: Row
) -> None:
    """Take everything out of one sheet and put it back."""
    take_out(sheets[0][at], items, tree, sheets, count, stack)
    close_sheet(at, tree, sheets, sources, count)


def ruin(items: Rows, tree: Rows, sheets: Rows, sources: Rows, count: Row, stack: Row) -> None:
    """Take out some 3 to 8 random nodes with all that is in them; now and then a whole sheet."""
    first, after, kinds, inner = tree[1], tree[2], tree[8], tree[12]
    if count[LIVE] > 1 and draw(count, 16) == 0:
        clear_sheet(sheets[3][draw(count, count[LIVE])], items, tree, sheets, sources, count, stack)
    for _ in range(3 + draw(count, 6)):
        if count[OPEN] == 0:
            return
        child, chosen, seen = first[inner[draw(count, count[OPEN])]], -1, 0
        while child >= 0:
            if kinds[child] >= ITEM_FREE:
                seen += 1
                if draw(count, seen) == 0:
                    chosen = child
            child = after[child]
        if chosen >= 0:
            parent = take_out(chosen, items, tree, sheets, count, stack)
            tidy_above(parent, items, tree, sheets, sources, count, stack)


def line_up(items: Rows, count: Row, pool: Row, keys: Row) -> int:
    """The items still to be cut, in a random order of precedence; how many there are."""
    i_long, i_wide, i_left, i_area, _ = items
    rule, size = draw(count, 8), 0
    for item in range(len(i_left)):
        if i_left[item] > 0:
            if rule < 4:
                key = i_area[item]
            elif rule < 6:
                key = max(i_long[item], i_wide[item])
            elif rule == 6:
                key = min(i_long[item], i_wide[item])
            else:
                key = draw(count, 1 << 20)
            at = size
            while at > 0 and keys[at - 1] < key:
                keys[at], pool[at] = keys[at - 1], pool[at - 1]
                at -= 1
            keys[at], pool[at] = key, item
            size += 1
    return size


def recreate(
    items: Rows, tree: Rows, sheets: Rows, sources: Rows, offered: Row, count: Row, pool: Row, keys: Row
) -> None:
    """Put back what fits, each where it loses least leftover value; about one in twenty second-best."""
    i_left = items[2]
    for at in range(line_up(items, count, pool, keys)):
        item = pool[at]
        while i_left[item] > 0:
            code = find_place(item, draw(count, 20) == 0, items, tree, sources, offered, count)
            if code == -1:
                break
            put(code, item, items, tree, sheets, sources, count)


def offer(sources: Rows, offered: Row, count: Row) -> None:
    """Choose which stock may be opened this time, so that other mixes of it are tried."""
    chance = 1 + draw(count, 4)
    for s in range(len(offered)):
        offered[s] = 1 if chance == 1 or draw(count, 4) else 0


def cost_of(
    tree: Rows,
    sheets: Rows,
    sources: Rows,
    values: list[float],
    credits: list[float],
    weights: list[float],
    count: Row,
) -> float:
    """What the search wants little of: parts left out, net rack value; large leftovers break ties."""
    long, wide, axis, free, sheet, inner = tree[4], tree[5], tree[6], tree[7], tree[10], tree[12]
    source, live = sheets[1], sheets[3]
    kerf, big, small, rack = weights[W_KERF], weights[W_BIG], weights[W_SMALL], weights[W_RACK]
    leftover, net = 0.0, 0.0
    for j in range(count[OPEN]):
        n = inner[j]
        one = free[n]
        two = wide[n] if axis[n] == 0 else long[n]
        area = one * two
        leftover += area * sqrt(area)
        if rack > 0.0:
            a, b = one - kerf, two - kerf
            if a > 0 and b > 0 and max(a, b) >= big and min(a, b) >= small:
                net -= a * b * credits[source[sheet[n]]]
    for j in range(count[LIVE]):
        s = source[live[j]]
        area = sources[0][s] * sources[1][s]
        leftover -= area * sqrt(area)
        net += values[s]
    return count[LEFT] * weights[W_LEFT] + net * rack - leftover * weights[W_TIE]


def copy_state(
    items: Rows,
    tree: Rows,
    sheets: Rows,
    sources: Rows,
    count: Row,
    items_to: Rows,
    tree_to: Rows,
    sheets_to: Rows,
    sources_to: Rows,
    count_to: Row,
) -> None:
    """Copy a state; the random number and the step go on."""
    items_to[2][:] = items[2]
    for k in range(len(tree)):
        tree_to[k][:] = tree[k]
    for k in range(len(sheets)):
        sheets_to[k][:] = sheets[k]
    sources_to[6][:] = sources[6]
    number, step, cap = count_to[RANDOM], count_to[STEP], count_to[CAP]
    count_to[:] = count
    count_to[RANDOM], count_to[STEP], count_to[CAP] = number, step, cap


def walk(
    steps: int,
    now: Numbers,
    saved: Numbers,
    values: list[float],
    credits: list[float],
    weights: list[float],
    history: list[float],
    marks: list[float],
    offered: Row,
    scratch: Rows,
) -> int:
    """Take so many steps; 1 as soon as everything is cut and better than marks[1], else 0.

    `now` and `saved` are whole states; marks[0] is the cost of the saved one.
    """
    items, tree, sheets, sources, count = now
    items_b, tree_b, sheets_b, sources_b, count_b = saved
    stack, pool, keys = scratch
    for _ in range(steps):
        ruin(items, tree, sheets, sources, count, stack)
        offer(sources, offered, count)
        recreate(items, tree, sheets, sources, offered, count, pool, keys)
        cost = cost_of(tree, sheets, sources, values, credits, weights, count)
        at = count[STEP] % len(history)
        count[STEP] += 1
        if cost <= history[at] or cost <= marks[0]:
            marks[0] = cost
            copy_state(items, tree, sheets, sources, count, items_b, tree_b, sheets_b, sources_b, count_b)
            history[at] = min(history[at], cost)
            if count[LEFT] == 0 and cost < marks[1]:
                return 1
        else:
            history[at] = min(history[at], marks[0])
            copy_state(items_b, tree_b, sheets_b, sources_b, count_b, items, tree, sheets, sources, count)
    return 0


def shed(items: Rows, tree: Rows, sheets: Rows, sources: Rows, count: Row, stack: Row) -> None:
    """Put back sheets to buy, the emptiest first, until no more is spent than the cap."""
    source, live, load = sheets[1], sheets[3], sheets[2]
    while count[SPENT] > count[CAP]:
        least, emptiest = 1 << 62, -1
        for j in range(count[LIVE]):
            at = live[j]
            if sources[3][source[at]] > 0 and load[at] < least:
                least, emptiest = load[at], at
        clear_sheet(emptiest, items, tree, sheets, sources, count, stack)
