"""What the sheet around any rectangle is worth at most, and layouts of the best value. Compiled like `kernel.py`.

A rectangle that ends at position i along and j across is the cell (i, j). Pairs of positions that add up to a
third say where it can be cut; a layout pushed together needs no other cuts (normal positions: Herz 1972).
"""

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]
Places = npt.NDArray[np.int32]
# The first and second of each pair along, and where those of a position begin; then the same across.
Pairs = tuple[Whole, Whole, Whole, Whole, Whole, Whole]
# The cell of each way, along and across, then the first way of each cell and the next way there (-1: no more).
Corners = tuple[Places, Places, Places, Places]


def value_around(best: Whole, pairs: Pairs, around: Whole) -> None:
    """The most that the rest of the sheet is worth where a block takes up a cell.

    (Viswanathan & Bagchi 1993, Operations Research 41; here by a programme from the whole sheet down.)
    """
    first, second, start, lower, upper, begin = pairs
    long, wide = best.shape
    around[:, :] = 0
    for i in range(long - 1, 0, -1):
        here = around[i]
        for j in range(wide - 1, 0, -1):
            here[j - 1] = max(here[j - 1], here[j])
            for pair in range(begin[j], begin[j + 1]):
                one, two = lower[pair], upper[pair]
                here[one] = max(here[one], here[j] + best[i, two])
                here[two] = max(here[two], here[j] + best[i, one])
        for j in range(wide):
            around[i - 1, j] = max(around[i - 1, j], here[j])
        for pair in range(start[i], start[i + 1]):
            one, two = first[pair], second[pair]
            for j in range(wide):
                around[one, j] = max(around[one, j], here[j] + best[two, j])
            for j in range(wide):
                around[two, j] = max(around[two, j], here[j] + best[one, j])


def write_layout(
    best: Whole, prices: Whole, corners: Corners, pairs: Pairs, written: Whole, stack: Places
) -> int:
    """Write down a layout of the whole sheet worth what its cell says; how many numbers it takes.

    A cut is -1 - (2 × the position of its first part + axis), its parts follow one after the other; a way is its
    number plus 1; waste is 0.
    """
    head, following = corners[2], corners[3]
    first, second, start, lower, upper, begin = pairs
    stack[0], stack[1], top, length = best.shape[0] - 1, best.shape[1] - 1, 2, 0
    while top:
        top -= 2
        i, j = stack[top], stack[top + 1]
        value, number = best[i, j], 0
        if value > 0:
            while best[i - 1, j] == value:
                i -= 1
            while best[i, j - 1] == value:
                j -= 1
            way = head[i * best.shape[1] + j]
            while way >= 0 and prices[way] != value:
                way = following[way]
            number = way + 1
        if value > 0 and number == 0:
            for pair in range(start[i], start[i + 1]):
                one, two = first[pair], second[pair]
                if best[one, j] + best[two, j] == value:
                    stack[top], stack[top + 1], stack[top + 2], stack[top + 3] = two, j, one, j
                    number = -1 - 2 * one
                    break
        if value > 0 and number == 0:
            for pair in range(begin[j], begin[j + 1]):
                one, two = lower[pair], upper[pair]
                if best[i, one] + best[i, two] == value:
                    stack[top], stack[top + 1], stack[top + 2], stack[top + 3] = i, two, i, one
                    number = -2 - 2 * one
                    break
        if number < 0:
            top += 4
        written[length] = number
        length += 1
    return length
