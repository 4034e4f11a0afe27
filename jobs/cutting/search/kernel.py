"""The moves of the search on trees of cuts, on flat rows of whole numbers.

Everything here is a plain function on lists (or arrays) of integers, in the part of Python that a compiler
for numbers takes too: `accelerate.py` compiles these same functions where that is at hand.

A layout is a tree. An inner node has an `axis` (0: its children lie along x, a crosscut; 1: along y, a rip),
its children span it across, and `free` is the length along the axis that no child takes. So each inner node
has one free rectangle, and siblings may stand in any order. All sizes here include one kerf: a part of
(l + kerf) × (w + kerf) in a sheet of (L + kerf) × (W + kerf) needs no further thought about the saw.

Method: ruin and recreate with a cap on what is bought, accepted late (Gardeyn & Wauters 2022, EJOR,
DOI 10.1016/j.ejor.2021.11.031; late acceptance: Burke & Bykov 2017, EJOR 258).
"""

from math import sqrt

Row = list[int]
Rows = tuple[Row, ...]

ITEM_FREE, PINNED, SCRAP = -1, -2, -3
# Where the counters stand in `count`.
OPEN, SLOT, LIVE, SHEET_SLOT, SPENT, LEFT, RANDOM, STEP, STAGES, CAP, SORTS = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10


def draw(count: Row, below: int) -> int:
    """The next number of a Lehmer generator (Park & Miller 1988), under `below`."""
    count[RANDOM] = count[RANDOM] * 48271 % 2147483647
    return count[RANDOM] % below


def weigh_place(long: int, wide: int, free: int, cross: int) -> tuple[float, int]:
    """What putting long × wide into free × cross loses of leftover value, and how to cut best.

    A leftover is worth area^1.5, which favours few large ones. Ways: 0 it fills across, 1 the strip is cut
    off first, 2 the rest across is cut off first.
    """
    before = free * cross
    rest = (free - long) * cross
    if wide == cross:
        return before * sqrt(before) - rest * sqrt(rest), 0
    across = long * (cross - wide)
    strip_first = rest * sqrt(rest) + across * sqrt(across)
    if free == long:
        return before * sqrt(before) - strip_first, 1
    corner = (free - long) * wide
    above = free * (cross - wide)
    rest_first = corner * sqrt(corner) + above * sqrt(above)
    if rest_first > strip_first:
        return before * sqrt(before) - rest_first, 2
    return before * sqrt(before) - strip_first, 1


def find_place(
    item: int, second: bool, items: Rows, tree: Rows, sources: Rows, offered: Row, count: Row
) -> int:
    """The place where an item loses least leftover value, as a code for `put`; -1 where it fits nowhere.

    With `second` the second-best place, where there is one.
    """
    i_long, i_wide, _, _, okay = items
    long, wide, axis, free, level, sort, inner = (
        tree[4],
        tree[5],
        tree[6],
        tree[7],
        tree[9],
        tree[11],
        tree[12],
    )
    s_long, s_wide, s_group, s_cost, s_sort, _, s_left, s_start, s_stop = sources[:9]
    stages, base = count[STAGES], item * count[SORTS]
    least, least_code, next_least, next_code = 1e300, -1, 1e300, -1
    ways = 0
    for k in range(count[SORTS]):
        ways |= okay[base + k]
    for turned in range(2):
        bit = 1 + turned
        if not ways & bit:
            continue
        a, b = (i_wide[item], i_long[item]) if turned else (i_long[item], i_wide[item])
        for j in range(count[OPEN]):
            n = inner[j]
            if axis[n] == 0:
                if a > free[n] or b > wide[n]:
                    continue
                along, across, cross = a, b, wide[n]
            else:
                if b > free[n] or a > long[n]:
                    continue
                along, across, cross = b, a, long[n]
            if not okay[base + sort[n]] & bit:
                continue
            loss, way = weigh_place(along, across, free[n], cross)
            if way == 2 and level[n] >= stages:
                way = 1
            if loss < next_least:
                code = (n * 2 + turned) * 4 + way
                if loss < least:
                    next_least, next_code, least, least_code = least, least_code, loss, code
                else:
                    next_least, next_code = loss, code
        for s in range(len(s_long)):
            if not offered[s] or a > s_long[s] or b > s_wide[s] or not okay[base + s_sort[s]] & bit:
                continue
            if s_left[s_group[s]] <= 0 or count[SPENT] + s_cost[s] > count[CAP]:
                continue
            if s_start[s] < s_stop[s]:
                loss, way = weigh_pattern(a, b, s, sources)
                if way < 0:
                    continue
            else:
                loss, way = weigh_sheet(a, b, s, sources)
            if loss < next_least:
                code = -2 - ((s * 2 + turned) * 4 + way)
                if loss < least:
                    next_least, next_code, least, least_code = least, least_code, loss, code
                else:
                    next_least, next_code = loss, code
    if second and next_code != -1:
        return next_code
    return least_code


def weigh_sheet(a: int, b: int, s: int, sources: Rows) -> tuple[float, int]:
    """Loss of putting a × b into a fresh piece of source s, and the axis of its first cut."""
    s_long, s_wide, s_axes = sources[0], sources[1], sources[5]
    loss, best = 1e300, 1
    # Rips come first where it costs nothing: that is how a saw with a fence likes a sheet.
    for axis in (1, 0):
        if s_axes[s] >> axis & 1:
            if axis == 1:
                lost, _ = weigh_strip(b, a, s_wide[s], s_long[s])
            else:
                lost, _ = weigh_strip(a, b, s_long[s], s_wide[s])
            if lost < loss:
                loss, best = lost, axis
    return loss, best


def weigh_strip(along: int, across: int, free: int, cross: int) -> tuple[float, int]:
    """As `weigh_place`, with the strip cut off first."""
    before, rest, beside = free * cross, (free - along) * cross, along * (cross - across)
    return before * sqrt(before) - rest * sqrt(rest) - beside * sqrt(beside), 1


def weigh_pattern(a: int, b: int, s: int, sources: Rows) -> tuple[float, int]:
    """Loss in a fresh piece that is cut around its flaws; way -1 where no clean rectangle is large enough."""
    s_start, s_stop, patterns = sources[7], sources[8], sources[9]
    loss, way = 1e300, -1
    for row in range(s_start[s], s_stop[s]):
        at = row * 7
        if patterns[at + 5] and patterns[at + 2] >= a and patterns[at + 3] >= b:
            if patterns[at + 1] == 0:
                lost, _ = weigh_place(a, b, patterns[at + 2], patterns[at + 3])
            else:
                lost, _ = weigh_place(b, a, patterns[at + 3], patterns[at + 2])
            if lost < loss:
                loss, way = lost, 0
    return loss, way


def new_node(
    parent: int, kind: int, long_: int, wide_: int, axis_: int, level_: int, tree: Rows, count: Row
) -> int:
    """Take a slot for a node and hang it under its parent (-1: none)."""
    up, first, after, before, long, wide, axis, free, kinds, level, sheet, sort, inner, spot, slots = tree
    count[SLOT] -= 1
    n = slots[count[SLOT]]
    up[n], first[n], before[n], after[n] = parent, -1, -1, -1
    long[n], wide[n], axis[n], level[n], kinds[n] = long_, wide_, axis_, level_, kind
    free[n] = 0
    if parent >= 0:
        old = first[parent]
        after[n] = old
        if old >= 0:
            before[old] = n
        first[parent] = n
        sheet[n], sort[n] = sheet[parent], sort[parent]
    if kind in (ITEM_FREE, PINNED):
        free[n] = long_ if axis_ == 0 else wide_
        if level_ <= count[STAGES]:
            spot[n] = count[OPEN]
            inner[count[OPEN]] = n
            count[OPEN] += 1
        else:
            spot[n] = -1
    return n


def drop_node(n: int, tree: Rows, count: Row) -> None:
    """Give a node's slot back; its children are gone already."""
    up, first, after, before, _, _, _, _, kinds, _, _, _, inner, spot, slots = tree
    parent = up[n]
    if before[n] >= 0:
        after[before[n]] = after[n]
    elif parent >= 0:
        first[parent] = after[n]
    if after[n] >= 0:
        before[after[n]] = before[n]
    if (kinds[n] == ITEM_FREE or kinds[n] == PINNED) and spot[n] >= 0:
        count[OPEN] -= 1
        last = inner[count[OPEN]]
        inner[spot[n]] = last
        spot[last] = spot[n]
    slots[count[SLOT]] = n
    count[SLOT] += 1


def put(code: int, item: int, items: Rows, tree: Rows, sheets: Rows, sources: Rows, count: Row) -> None:
    """Cut an item out at a place that `find_place` found."""
    i_long, i_wide, i_left, i_area, _ = items
    if code <= -2:
        code = open_sheet(-2 - code, item, items, tree, sheets, sources, count)
    way, turned, n = code % 4, code // 4 % 2, code // 8
    a, b = (i_wide[item], i_long[item]) if turned else (i_long[item], i_wide[item])
    long, wide, axis, free, level, sheet = tree[4], tree[5], tree[6], tree[7], tree[9], tree[10]
    along, across, cross = (a, b, wide[n]) if axis[n] == 0 else (b, a, long[n])
    if way == 2:
        whole = free[n]
        m = hang(n, whole, cross, tree, count)
        free[n] = 0
        n = hang(m, across, whole, tree, count)
        free[m] = cross - across
    elif way == 1 and across < cross:
        m = hang(n, along, cross, tree, count)
        free[n] -= along
        n = m
        along = across
    new_node(n, item, a, b, -1, level[n] + 1, tree, count)
    free[n] -= along
    i_left[item] -= 1
    count[LEFT] -= i_area[item]
    sheets[2][sheet[n]] += 1


def hang(n: int, extent: int, cross: int, tree: Rows, count: Row) -> int:
    """Hang an inner node under n that takes `extent` along its axis and spans it across."""
    axis, level = tree[6], tree[9]
    if axis[n] == 0:
        return new_node(n, ITEM_FREE, extent, cross, 1, level[n] + 1, tree, count)
    return new_node(n, ITEM_FREE, cross, extent, 0, level[n] + 1, tree, count)


def open_sheet(code: int, item: int, items: Rows, tree: Rows, sheets: Rows, sources: Rows, count: Row) -> int:
    """Take a fresh piece of stock; the code of the place in it is returned."""
    way, turned, s = code % 4, code // 4 % 2, code // 8
    s_long, s_wide, s_group, s_cost, s_sort, _, s_left, s_start, s_stop = sources[:9]
    root, source, load, live, live_spot, free_sheets = sheets
    sheet, sort = tree[10], tree[11]
    count[SHEET_SLOT] -= 1
    at = free_sheets[count[SHEET_SLOT]]
    s_left[s_group[s]] -= 1
    count[SPENT] += s_cost[s]
    if s_start[s] < s_stop[s]:
        root[at], n = lay_pattern(item, turned, at, s, items, tree, sources, count)
    else:
        n = new_node(-1, ITEM_FREE, s_long[s], s_wide[s], way, 1, tree, count)
        sheet[n], sort[n], root[at] = at, s_sort[s], n
    source[at], load[at] = s, 0
    live_spot[at] = count[LIVE]
    live[count[LIVE]] = at
    count[LIVE] += 1
    return (n * 2 + turned) * 4 + 1


def lay_pattern(
    item: int, turned: int, at: int, s: int, items: Rows, tree: Rows, sources: Rows, count: Row
) -> tuple[int, int]:
    """Cut a piece around its flaws; returns its root and the clean rectangle where the item fits best."""
    patterns, nodes = sources[9], sources[10]
    a, b = (items[1][item], items[0][item]) if turned else (items[0][item], items[1][item])
    axis, free, sheet, sort = tree[6], tree[7], tree[10], tree[11]
    start, loss, best = sources[7][s], 1e300, -1
    for row in range(start, sources[8][s]):
        p = row * 7
        parent = nodes[start + patterns[p]] if patterns[p] >= 0 else -1
        kind = SCRAP if patterns[p + 1] < 0 else PINNED
        n = new_node(
            parent, kind, patterns[p + 2], patterns[p + 3], patterns[p + 1], patterns[p + 6], tree, count
        )
        nodes[row] = n
        sheet[n], sort[n], free[n] = at, sources[4][s], patterns[p + 4]
        if patterns[p + 5] and patterns[p + 2] >= a and patterns[p + 3] >= b:
            if axis[n] == 0:
                lost, _ = weigh_place(a, b, patterns[p + 2], patterns[p + 3])
            else:
                lost, _ = weigh_place(b, a, patterns[p + 3], patterns[p + 2])
            if lost < loss:
                loss, best = lost, n
    return nodes[start], best


def take_out(n: int, items: Rows, tree: Rows, sheets: Rows, count: Row, stack: Row) -> int:
    """Take a node and all within it out of its sheet; an emptied sheet goes back."""
    i_left, i_area = items[2], items[3]
    up, first, _, _, long, wide, axis, free, kinds, _, sheet = tree[:11]
    load, at, parent = sheets[2], sheet[n], up[n]
    if parent >= 0 and kinds[n] != PINNED:
        free[parent] += long[n] if axis[parent] == 0 else wide[n]
    height, stack[0] = 1, n
    while height:
        m = stack[height - 1]
        if first[m] >= 0:
            stack[height] = first[m]
            height += 1
            continue
        height -= 1
        if kinds[m] >= 0:
            i_left[kinds[m]] += 1
            count[LEFT] += i_area[kinds[m]]
            load[at] -= 1
        drop_node(m, tree, count)
    return parent


def close_sheet(at: int, tree: Rows, sheets: Rows, sources: Rows, count: Row) -> None:
    """Put an emptied piece of stock back where it came from."""
    _, source, _, live, live_spot, free_sheets = sheets
    s = source[at]
    sources[6][sources[2][s]] += 1
    count[SPENT] -= sources[3][s]
    count[LIVE] -= 1
    last = live[count[LIVE]]
    live[live_spot[at]] = last
    live_spot[last] = live_spot[at]
    free_sheets[count[SHEET_SLOT]] = at
    count[SHEET_SLOT] += 1


def tidy_above(n: int, items: Rows, tree: Rows, sheets: Rows, sources: Rows, count: Row, stack: Row) -> None:
    """After something below n was taken out: drop what is empty, pull strips tight, close an empty sheet."""
    up, first, kinds, sheet = tree[0], tree[1], tree[8], tree[10]
    if n < 0:
        return
    at = sheet[n]
    if sheets[2][at] == 0:
        take_out(sheets[0][at], items, tree, sheets, count, stack)
        close_sheet(at, tree, sheets, sources, count)
        return
    while first[n] < 0 and kinds[n] == ITEM_FREE and up[n] >= 0:
        n = take_out(n, items, tree, sheets, count, stack)
    while up[n] >= 0:
        parent = up[n]
        if kinds[n] == ITEM_FREE:
            pull_tight(n, tree, count)
        n = parent


def pull_tight(n: int, tree: Rows, count: Row) -> None:
    """Narrow a strip to the widest thing in it and give the rest to its parent."""
    up, first, after, _, long, wide, axis, free, kinds = tree[:9]
    child, slack = first[n], 1 << 62
    while child >= 0 and slack > 0:
        if kinds[child] != ITEM_FREE:
            return
        slack = min(slack, free[child])
        child = after[child]
    if slack <= 0 or first[n] < 0:
        return
    extent = wide if axis[n] == 0 else long
    extent[n] -= slack
    free[up[n]] += slack
    child = first[n]
    while child >= 0:
        following = after[child]
        extent[child] -= slack
        free[child] -= slack
        only = first[child]
        if free[child] == 0 and only >= 0 and after[only] < 0 and kinds[only] >= 0:
            lift_only(child, tree, count)
        child = following


def lift_only(n: int, tree: Rows, count: Row) -> None:
    """Put an item that fills its node in the node's place."""
    up, first, after, before = tree[0], tree[1], tree[2], tree[3]
    only, parent = first[n], up[n]
    first[n] = -1
    up[only] = parent
    after[only], before[only] = first[parent], -1
    before[first[parent]] = only
    first[parent] = only
    drop_node(n, tree, count)
