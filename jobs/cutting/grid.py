"""Where a sheet can be cut: positions along and across, the cells between them, and which cuts add up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from jobs.cutting.pricing import LONGEST_EXACT, Way, normal_positions
from jobs.cutting.search.cells import Corners, Pairs, Places, Whole


class Grid:
    """The cells of one sheet; exact where `step` is 1, else sizes are rounded to steps of so much.

    They are rounded where a pass over all cells and their cuts takes more than this effort.

    Rounded up, everything laid out fits; rounded down, everything that fits can be laid out, but for the items in
    `lost`, which round down to nothing.
    """

    def __init__(
        self, size: tuple[int, int], ways: Sequence[Way], effort: int, *, round_up: bool = True
    ) -> None:
        self.step, self.given = -(-max(size) // LONGEST_EXACT), list(ways)
        while True:
            self.size = size[0] // self.step, size[1] // self.step
            self.ways = [_rounded(way, self.step, round_up) for way in ways]
            self.points = [
                normal_positions(self.size[axis], [_extent(way, axis) for way in self._fitting()])
                for axis in (0, 1)
            ]
            along, across = map(len, self.points)
            self.effort = along * across * (along + across) // 4
            if self.effort <= effort:
                break
            self.step += max(1, self.step // 8)
        fitting = self._fitting()
        self.lost = [way for way in self.ways if way.long == 0 or way.wide == 0]
        self.given = [given for given, way in zip(self.given, self.ways, strict=True) if way in fitting]
        self.ways = fitting
        self.pairs: Pairs = (*_pairs(self.points[0]), *_pairs(self.points[1]))
        self.corners = self._corners()

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.points[0]), len(self.points[1])

    def _fitting(self) -> list[Way]:
        long, wide = self.size
        return [way for way in self.ways if 0 < way.long <= long and 0 < way.wide <= wide]

    def _corners(self) -> Corners:
        along = np.searchsorted(self.points[0], [way.long for way in self.ways]).astype(np.int32)
        across = np.searchsorted(self.points[1], [way.wide for way in self.ways]).astype(np.int32)
        head = np.full(self.shape[0] * self.shape[1], -1, dtype=np.int32)
        following = np.full(len(self.ways), -1, dtype=np.int32)
        for way, cell in enumerate(along * self.shape[1] + across):
            following[way], head[cell] = head[cell], way
        return along, across, head, following

    def where(self, axis: int) -> Places:
        """The position of every size along an axis; -1 where there is none."""
        points = self.points[axis]
        where = np.full(int(points[-1]) + 1, -1, dtype=np.int32)
        where[points] = np.arange(len(points))
        return where


def _rounded(way: Way, step: int, up: bool) -> Way:
    more = step - 1 if up else 0
    return replace(way, long=(way.long + more) // step, wide=(way.wide + more) // step)


def _extent(way: Way, axis: int) -> tuple[int, int]:
    return (way.long, way.wide)[axis], way.quantity


def _pairs(points: Whole) -> tuple[Whole, Whole, Whole]:
    """The firsts and seconds of all pairs of positions that add up to another, and where those of each begin.

    The smaller comes first.
    """
    starts, firsts, seconds = [0, 0], [], []
    for point in points[1:]:
        smaller = np.arange(1, int(np.searchsorted(points, point // 2, side="right")))
        larger = np.searchsorted(points, point - points[smaller])
        adds_up = points[larger] == point - points[smaller]
        firsts.append(smaller[adds_up])
        seconds.append(larger[adds_up])
        starts.append(starts[-1] + len(firsts[-1]))
    rows = np.concatenate([[], *firsts]), np.concatenate([[], *seconds]), np.array(starts)
    first, second, start = (row.astype(np.int64) for row in rows)
    return first, second, start
