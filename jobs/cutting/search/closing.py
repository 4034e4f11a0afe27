"""Closing a table of rectangles under cuts, one row of it after the other. Compiled like `kernel.py`.

What `pricing.close` does with whole rows at a time, but here every rectangle is looked at once: its pieces are
smaller, and have been closed before it.
"""

from typing import Any


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
