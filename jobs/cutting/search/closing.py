"""Closing a table of rectangles under cuts, one row of it after the other. Compiled like `kernel.py`.

What `pricing.close` does with whole rows at a time, but here every rectangle is looked at once: its pieces are
smaller, and have been closed before it.
"""

from typing import Any

# What a cell's layout is made of: nothing, an item, that of the cell before, or two pieces.
NOTHING, ITEM, SMALLER, NARROWER, ALONG, ACROSS = 0, 1, 2, 3, 4, 5


def close(
    best: Any, firsts: Any, seconds: Any, starts: Any, firsts_up: Any, seconds_up: Any, starts_up: Any
) -> None:
    """Let every rectangle be cut into two of the best, along the first axis or the second, and again.

    The cuts of row i are firsts and seconds from starts[i] to starts[i + 1]; of column j likewise with `_up`.
    """
    rows, columns = best.shape
    for i in range(rows):
        row = best[i]
        if i:
            smaller = best[i - 1]
            for j in range(columns):
                row[j] = max(row[j], smaller[j])
        for k in range(starts[i], starts[i + 1]):
            one, two = best[firsts[k]], best[seconds[k]]
            for j in range(columns):
                row[j] = max(row[j], one[j] + two[j])
        for j in range(1, columns):
            most = max(row[j], row[j - 1])
            for k in range(starts_up[j], starts_up[j + 1]):
                most = max(most, row[firsts_up[k]] + row[seconds_up[k]])
            row[j] = most


def fit_together(one: Any, two: Any, limits: Any, scarce: int) -> bool:
    """Whether two pieces hold no more of any item together than is wanted; each row ends with a mask of the
    `scarce` first items, of which one is wanted, that it holds."""
    if one[-1] & two[-1]:
        return False
    for item in range(scarce, len(limits)):  # noqa: SIM110  compiled, this stops at the first
        if one[item] + two[item] > limits[item]:
            return False
    return True


def close_within(
    best: Any, held: Any, how: Any, limits: Any, scarce: int,
    firsts: Any, seconds: Any, starts: Any, firsts_up: Any, seconds_up: Any, starts_up: Any,
) -> None:  # fmt: skip
    """The same where no more of an item is wanted than its limit; no upper bound, as a cell keeps one layout.

    `held` is how often a cell's layout holds each item (see `fit_together`), `how` what it is made of: ITEM and
    which way, SMALLER, NARROWER, or ALONG and ACROSS with its two pieces.
    """
    rows, columns = best.shape
    for i in range(rows):
        row, made = best[i], how[i]
        for j in range(columns):
            if i and best[i - 1, j] > row[j]:
                row[j], made[j, 0] = best[i - 1, j], SMALLER
        for k in range(starts[i], starts[i + 1]):
            one, two = best[firsts[k]], best[seconds[k]]
            for j in range(columns):
                if one[j] + two[j] > row[j] and fit_together(
                    held[firsts[k], j], held[seconds[k], j], limits, scarce
                ):
                    row[j], made[j, 0], made[j, 1], made[j, 2] = one[j] + two[j], ALONG, firsts[k], seconds[k]
        for j in range(columns):
            if j and row[j - 1] > row[j]:
                row[j], made[j, 0] = row[j - 1], NARROWER
            for k in range(starts_up[j], starts_up[j + 1]):
                x, y = firsts_up[k], seconds_up[k]
                if row[x] + row[y] > row[j] and fit_together(held[i, x], held[i, y], limits, scarce):
                    row[j], made[j, 0], made[j, 1], made[j, 2] = row[x] + row[y], ACROSS, x, y
            count_held(held, made[j, 0], made[j, 1], made[j, 2], i, j)


def count_held(held: Any, kind: int, a: int, b: int, i: int, j: int) -> None:
    """Write down what the layout of a cell holds, once it is known what it is made of. (Masks add up: pieces
    that fit together share no bit.)"""
    for item in range(held.shape[2]):
        if kind == SMALLER:
            held[i, j, item] = held[i - 1, j, item]
        elif kind == NARROWER:
            held[i, j, item] = held[i, j - 1, item]
        elif kind == ALONG:
            held[i, j, item] = held[a, j, item] + held[b, j, item]
        elif kind == ACROSS:
            held[i, j, item] = held[i, a, item] + held[i, b, item]
