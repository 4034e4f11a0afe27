"""Blocks of parts built from small to large, where each part may be cut only so often. Compiled like `kernel.py`.

A block is a layout: a way to lie, or two blocks side by side. Every cell (`cells.py`) keeps the blocks that lie
within it, at most so many, and only while what they and the rest of the sheet are worth at most is above the
best layout known (Viswanathan & Bagchi 1993; Cung, Hifi & Le Cun 2000). Values are reduced by each copy's share
of its limit (Lagrangian multipliers); the sheet's reduced value and all shares together bound what can be cut.
A block that takes no less of anything and is worth no more than another in its cell goes.

Where no block was left out for want of room the best layout is proven; else what those left out are worth at
most is a bound.
"""

import numpy as np
import numpy.typing as npt

from jobs.cutting.search.cells import Corners, Places, Whole

Counts = npt.NDArray[np.uint16]
# Of every block: reduced value, value, and a bit for each limited item in it.
Sums = tuple[Whole, Whole, Whole]
# Of every block: its two blocks and the cell of the first with the axis; or its way, -1 and 0.
Joints = tuple[Places, Places, Places]
# Where the numbers of a run stand in `now`.
BLOCKS, ENTRIES, BEST, BEST_BLOCK, NEED, LEFT_OUT, KEPT, CELL, WORK, ROOMS, SHARES, ONCE, BASE = range(13)
NUMBERS = 13
# Reduced values are in parts of a value.
SCALE = 1024
FULL = -1


def has_no_more(one: int, two: int, counts: Counts) -> bool:
    """Whether the first block takes no more of any limited item than the second."""
    for item in range(counts.shape[1]):  # noqa: SIM110 - all() with a generator is not compiled
        if counts[one, item] > counts[two, item]:
            return False
    return True


def is_wanted(total: int, rest: int, reduced: Whole, kept: Places, now: Whole) -> bool:
    """Whether a block of this reduced value would be kept in a cell with this rest around it."""
    if total + rest < now[NEED]:
        return False
    if now[KEPT] == now[ROOMS] and total <= reduced[kept[now[KEPT] - 1]]:
        now[LEFT_OUT] = max(now[LEFT_OUT], total + rest)
        return False
    return True


def keep(block: int, rest: int, sums: Sums, counts: Counts, kept: Places, now: Whole) -> bool:
    """Keep a block in the cell, in order of reduced value; false where one there is as good."""
    reduced, value, mask = sums
    number = now[KEPT]
    at = number
    while at > 0 and reduced[kept[at - 1]] < reduced[block]:
        at -= 1
    for other in range(at):
        there = kept[other]
        is_under = value[there] >= value[block] and mask[there] & ~mask[block] == 0
        if is_under and has_no_more(there, block, counts):
            return False
    stays = at
    for other in range(at, number):
        there = kept[other]
        is_under = value[block] >= value[there] and mask[block] & ~mask[there] == 0
        if not is_under or not has_no_more(block, there, counts):
            kept[stays] = there
            stays += 1
    if stays == now[ROOMS]:
        stays -= 1
        now[LEFT_OUT] = max(now[LEFT_OUT], reduced[kept[stays]] + rest)
    for other in range(stays, at, -1):
        kept[other] = kept[other - 1]
    kept[at] = block
    now[KEPT] = stays + 1
    return True


def close_up(sums: Sums, joints: Joints, counts: Counts, kept: Places, place: Places, now: Whole) -> None:
    """Give the rows of those new blocks of a cell free that were not kept in the end."""
    base = now[BASE]
    for at in range(now[KEPT]):
        if kept[at] >= base:
            place[kept[at] - base] = at + 1
    to = base
    for block in range(base, now[BLOCKS]):
        at = place[block - base]
        place[block - base] = 0
        if at == 0 and block != now[BEST_BLOCK]:
            continue
        if at:
            kept[at - 1] = to
        if block == now[BEST_BLOCK]:
            now[BEST_BLOCK] = to
        if to != block:
            for row in sums:
                row[to] = row[block]
            for joint in joints:
                joint[to] = joint[block]
            counts[to, :] = counts[block, :]
        to += 1
    now[BLOCKS] = to


def add(
    block: int, one: int, two: int, how: int, rest: int, sums: Sums, joints: Joints, counts: Counts,
    kept: Places, place: Places, now: Whole,
) -> None:  # fmt: skip
    """Keep a new block; where it is worth more than the best layout, others must be worth more than it."""
    if keep(block, rest, sums, counts, kept, now):
        joints[0][block], joints[1][block], joints[2][block] = one, two, how
        now[BLOCKS] += 1
        if sums[1][block] > now[BEST]:
            now[BEST], now[BEST_BLOCK] = sums[1][block], block
            now[NEED] = (now[BEST] + 1) * SCALE - now[SHARES]
        if now[BLOCKS] == len(sums[1]):
            close_up(sums, joints, counts, kept, place, now)


def add_way(
    way: int, rest: int, scarce: Places, worth: Sums, sums: Sums, joints: Joints, counts: Counts,
    kept: Places, place: Places, now: Whole,
) -> None:  # fmt: skip
    """Keep a part by itself."""
    if is_wanted(worth[0][way], rest, sums[0], kept, now):
        block = now[BLOCKS]
        counts[block, :] = 0
        if scarce[way] >= 0:
            counts[block, scarce[way]] = 1
        sums[0][block], sums[1][block], sums[2][block] = worth[0][way], worth[1][way], worth[2][way]
        add(block, way, -1, 0, rest, sums, joints, counts, kept, place, now)


def join(one: int, two: int, block: int, limits: Counts, sums: Sums, counts: Counts, once: int) -> bool:
    """Write down what two blocks make together; false where that is too much of an item."""
    reduced, value, mask = sums
    if mask[one] & mask[two] & once:
        return False
    for item in range(counts.shape[1]):
        taken = counts[one, item] + counts[two, item]
        if taken > limits[item]:
            return False
        counts[block, item] = taken
    reduced[block], value[block] = reduced[one] + reduced[two], value[one] + value[two]
    mask[block] = mask[one] | mask[two]
    return True


def join_cells(
    one_cell: int, two_cell: int, axis: int, rest: int, limits: Counts, cells: tuple[Places, Places],
    entries: Places, sums: Sums, joints: Joints, counts: Counts, kept: Places, place: Places, now: Whole,
) -> None:  # fmt: skip
    """Put the blocks of two cells side by side, the most valuable first."""
    reduced = sums[0]
    begins, ends = cells
    for e in range(begins[one_cell], ends[one_cell]):
        one = entries[e]
        start = e if one_cell == two_cell else begins[two_cell]
        for f in range(start, ends[two_cell]):
            two, block = entries[f], now[BLOCKS]
            now[WORK] += 1
            if not is_wanted(reduced[one] + reduced[two], rest, reduced, kept, now):
                if f == start:
                    return
                break
            if join(one, two, block, limits, sums, counts, now[ONCE]):
                how = one_cell * 2 + axis
                add(block, one, two, how, rest, sums, joints, counts, kept, place, now)


def join_along(
    i: int, j: int, rest: int, points: Places, where: Places, live: Places, limits: Counts,
    cells: tuple[Places, Places], entries: Places, sums: Sums, joints: Joints, counts: Counts, kept: Places,
    place: Places, now: Whole, axis: int, wide: int,
) -> None:  # fmt: skip
    """Join all pairs of cells that a cut along one axis leaves; live has their number first, then which."""
    here = i if axis == 0 else j
    for at in range(1, live[0] + 1):
        one = live[at]
        if 2 * points[one] > points[here]:
            break
        two = where[points[here] - points[one]]
        if two < 0:
            continue
        one_cell = one * wide + j if axis == 0 else i * wide + one
        two_cell = two * wide + j if axis == 0 else i * wide + two
        if cells[1][two_cell] > cells[0][two_cell]:
            join_cells(
                one_cell, two_cell, axis, rest, limits, cells, entries, sums, joints, counts, kept, place, now
            )


def build(
    most_work: int, axes: tuple[Places, Places, Places, Places], corners: Corners, scarce: Places,
    worth: Sums, limits: Counts, best: Whole, around: Whole, cells: tuple[Places, Places], live: Places,
    live_here: Places, entries: Places, sums: Sums, joints: Joints, counts: Counts, kept: Places,
    place: Places, now: Whole,
) -> bool:  # fmt: skip
    """Fill cells from where it stopped last, for so much work; whether there are more of them.

    now[CELL] is FULL at the end where there was no room for more blocks.
    """
    points, where, points_across, where_across = axes
    head, following = corners[2], corners[3]
    begins, ends = cells
    wide = best.shape[1]
    while now[CELL] < best.shape[0] * wide and now[WORK] < most_work:
        cell = now[CELL]
        i, j = cell // wide, cell % wide
        now[CELL] += 1
        now[WORK] += 1
        begins[cell] = ends[cell] = now[ENTRIES]
        if j == 0:
            live_here[0] = 0
        rest = around[i, j]
        if i == 0 or j == 0 or best[i, j] + rest < now[NEED]:
            continue
        now[KEPT], now[BASE] = 0, now[BLOCKS]
        for before in (cell - wide, cell - 1):
            for e in range(begins[before], ends[before]):
                if not is_wanted(sums[0][entries[e]], rest, sums[0], kept, now):
                    break
                keep(entries[e], rest, sums, counts, kept, now)
        way = head[cell]
        while way >= 0:
            add_way(way, rest, scarce, worth, sums, joints, counts, kept, place, now)
            way = following[way]
        join_along(
            i, j, rest, points, where, live[j], limits, cells, entries, sums, joints, counts, kept, place, now,
            0, wide,
        )  # fmt: skip
        join_along(
            i, j, rest, points_across, where_across, live_here, limits, cells, entries, sums, joints, counts,
            kept, place, now, 1, wide,
        )  # fmt: skip
        close_up(sums, joints, counts, kept, place, now)
        for at in range(now[KEPT]):
            entries[now[ENTRIES] + at] = kept[at]
        now[ENTRIES] += now[KEPT]
        ends[cell] = now[ENTRIES]
        if now[KEPT]:
            live[j, 0] += 1
            live[j, live[j, 0]] = i
            live_here[0] += 1
            live_here[live_here[0]] = j
        # New blocks of the next cell need some rows to come and go in.
        if now[BLOCKS] + 2 * now[ROOMS] + 10 > len(sums[0]) or now[ENTRIES] + now[ROOMS] > len(entries):
            now[CELL] = FULL
            return False
    return bool(now[CELL] < best.shape[0] * wide)
