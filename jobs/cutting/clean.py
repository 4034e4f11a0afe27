"""Ways to cut a piece around its flaws, so that what is left is clean rectangles and scrap.

The search knows no defects: it is offered each flawed piece already cut around them, in several ways, and
uses one. A part then never lies over a flaw, whatever the search does.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product

from jobs.cutting.problem import Cut, Stock

Rectangle = tuple[int, int, int, int]
CROSSCUT, RIP = 0, 1
AXES: dict[Cut, int] = {"crosscut": CROSSCUT, "rip": RIP}
MOST_FLAWS, MOST_RECTANGLES = 8, 5


@dataclass(slots=True)
class Pattern:
    """Rows of seven numbers a node, parents first: parent row (-1: none), axis (-1: scrap), long, wide, free
    along the axis, whether a part may be cut from it, level. Long and wide include one kerf."""

    rows: list[list[int]] = field(default_factory=list)

    def add(self, *row: int) -> int:
        self.rows.append(list(row))
        return len(self.rows) - 1


def patterns_around_defects(stock: Stock, kerf: int, stages: int, first_cut: Cut | None) -> list[Pattern]:
    """Some ways to cut a flawed piece, each with other large rectangles; none where its face is clean."""
    long, wide = stock.usable
    whole = (0, 0, long, wide)
    flaws = _flaws_inside(stock)
    if not flaws:
        return []
    patterns: list[Pattern] = []
    for rectangle in [whole, *_largest_clean(whole, flaws, kerf)]:
        for axis in (RIP, CROSSCUT):
            pattern = Pattern()
            parent, level = -1, 1
            if first_cut is not None and axis != AXES[first_cut]:
                # A strip as wide as the piece: the cut that is asked for first takes nothing off.
                parent = pattern.add(-1, AXES[first_cut], long + kerf, wide + kerf, 0, 0, 1)
                level = 2
            _Saw(pattern, flaws, kerf, stages).isolate(whole, rectangle, axis, parent, level)
            if any(row[5] for row in pattern.rows) and pattern not in patterns:
                patterns.append(pattern)
    return patterns


def clean_rectangles(patterns: list[Pattern], kerf: int) -> list[tuple[int, int]]:
    """The sizes, without kerf, of the clean rectangles in these patterns."""
    return [(row[2] - kerf, row[3] - kerf) for pattern in patterns for row in pattern.rows if row[5]]


def is_flawed(stock: Stock) -> bool:
    """Whether a defect lies in the part of it that is used."""
    return bool(_flaws_inside(stock))


def _flaws_inside(stock: Stock) -> list[Rectangle]:
    """The flaws that lie within the trimmed edges, as seen from there, clipped to them."""
    long, wide = stock.usable
    flaws = []
    for flaw in stock.defects:
        x, y = flaw.x - stock.trim, flaw.y - stock.trim
        # A crack has no width; a part may not lie over it all the same.
        end_x, end_y = x + max(flaw.length, 1), y + max(flaw.width, 1)
        seen = max(x, 0), max(y, 0), min(end_x, long), min(end_y, wide)
        if seen[0] < seen[2] and seen[1] < seen[3]:
            flaws.append(seen)
    return flaws


def _largest_clean(whole: Rectangle, flaws: list[Rectangle], kerf: int) -> list[Rectangle]:
    """The largest rectangles that touch no flaw and lie in no other such rectangle, by area."""
    if len(flaws) > MOST_FLAWS:
        return []
    # What is cut off before it must have a size: it starts a unit and a kerf from the edge at the nearest.
    lows_x = sorted({0} | {max(flaw[2], 1 + kerf) for flaw in flaws})
    lows_y = sorted({0} | {max(flaw[3], 1 + kerf) for flaw in flaws})
    highs_x = sorted({whole[2]} | {flaw[0] for flaw in flaws})
    highs_y = sorted({whole[3]} | {flaw[1] for flaw in flaws})
    clean = [
        (x0, y0, x1, y1)
        for x0, x1 in product(lows_x, highs_x)
        for y0, y1 in product(lows_y, highs_y)
        if x0 < x1 and y0 < y1 and not any(_touches(flaw, (x0, y0, x1, y1)) for flaw in flaws)
    ]
    largest = [one for one in clean if not any(_holds(other, one) for other in clean if other != one)]
    largest.sort(key=lambda one: (-(one[2] - one[0]) * (one[3] - one[1]), one))
    return largest[:MOST_RECTANGLES]


def _touches(flaw: Rectangle, region: Rectangle) -> bool:
    return flaw[0] < region[2] and region[0] < flaw[2] and flaw[1] < region[3] and region[1] < flaw[3]


def _holds(outer: Rectangle, inner: Rectangle) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def _stretch(region: Rectangle, axis: int, start: int, stop: int) -> Rectangle:
    return (start, region[1], stop, region[3]) if axis == CROSSCUT else (region[0], start, region[2], stop)


@dataclass(slots=True)
class _Saw:
    pattern: Pattern
    flaws: list[Rectangle]
    kerf: int
    stages: int

    def isolate(self, region: Rectangle, target: Rectangle, axis: int, parent: int, level: int) -> None:
        """Cut one clean rectangle free along an axis, then across; go on around the flaws in the rest."""
        if level > self.stages or target == region:
            self.cut_around(region, axis, parent, level)
            return
        node = self.pattern.add(parent, axis, *self._size(region), 0, 0, level)
        low, high, start, end = target[axis], target[axis + 2], region[axis], region[axis + 2]
        if start < low - self.kerf:
            self.cut_around(_stretch(region, axis, start, low - self.kerf), 1 - axis, node, level + 1)
        strip = _stretch(region, axis, low, high)
        if strip == target:
            self.cut_around(strip, 1 - axis, node, level + 1)
        else:
            self.isolate(strip, target, 1 - axis, node, level + 1)
        if high + self.kerf < end:
            self.cut_around(_stretch(region, axis, high + self.kerf, end), 1 - axis, node, level + 1)

    def cut_around(self, region: Rectangle, axis: int, parent: int, level: int) -> None:
        """Cut a region along one axis into clean and flawed stretches; the flawed ones across in turn."""
        size = self._size(region)
        inside = [flaw for flaw in self.flaws if _touches(flaw, region)]
        if not inside:
            self.pattern.add(parent, axis, *size, size[axis], int(level <= self.stages), level)
            return
        stretches = self._stretches(region, inside, axis)
        across = self._stretches(region, inside, 1 - axis)
        if level > self.stages or (len(stretches) == 1 and (level == self.stages or len(across) == 1)):
            self.pattern.add(parent, -1, *size, 0, 0, level)
            return
        node = self.pattern.add(parent, axis, *size, 0, 0, level)
        for start, stop in stretches:
            self.cut_around(_stretch(region, axis, start, stop), 1 - axis, node, level + 1)

    def _size(self, region: Rectangle) -> tuple[int, int]:
        return region[2] - region[0] + self.kerf, region[3] - region[1] + self.kerf

    def _stretches(self, region: Rectangle, flaws: list[Rectangle], axis: int) -> list[tuple[int, int]]:
        """Where to cut a region along an axis: clean and flawed stretches in order, a kerf apart."""
        at, end = region[axis], region[axis + 2]
        stretches = []
        for low, high in _merged([(flaw[axis], flaw[axis + 2]) for flaw in flaws]):
            if at >= end or high <= at:
                continue
            if low > at:
                stretches.append((at, low))
                at = low + self.kerf
            if at >= end:
                break
            # The saw's own cut takes the last of the flaw where the flaw is wide enough for it.
            stop = max(at + 1, high - self.kerf)
            if stop + self.kerf >= end:
                stop = end
            stretches.append((at, stop))
            at = stop + self.kerf
        if at < end:
            stretches.append((at, end))
        return stretches


def _merged(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    merged: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged
