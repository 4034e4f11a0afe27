"""Lines that point at pieces too small even for a number, with the number below the drawing."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from jobs.diagrams.marks import Dot, Line, Mark, Paper, Text
from jobs.diagrams.naming import Area

NEXT_TO = 8.0  # pieces nearer than this, a kerf between them, are one run


@dataclass(frozen=True, slots=True)
class _Run:
    """Alike pieces side by side; a line through their middles joins them."""

    areas: tuple[Area, ...]

    @property
    def start(self) -> float:
        return self.areas[0].x

    @property
    def end(self) -> float:
        return self.areas[-1].x + self.areas[-1].width

    @property
    def y(self) -> float:
        return self.areas[0].middle[1]


@dataclass(frozen=True, slots=True)
class _Pointed:
    """Runs of one number that a single upright line can cross."""

    number: int
    runs: tuple[_Run, ...]

    @property
    def start(self) -> float:
        return max(run.start for run in self.runs)

    @property
    def end(self) -> float:
        return min(run.end for run in self.runs)


def leaders(
    pieces: Mapping[int, Sequence[Area]], bottom: float, limits: tuple[float, float], paper: Paper
) -> list[Mark]:
    """A leader to every group of pieces by their number, side by side below ``bottom`` within the limits.

    Where there is no room for all, each number keeps one; where even those are too many, the last have none
    and only their row in the list.
    """
    step = paper.smallest * 1.7
    room = max(1, int((limits[1] - limits[0]) / step) + 1)
    groups = _chosen([_stacked(number, _runs(areas)) for number, areas in pieces.items()], room)
    marks: list[Mark] = []
    at = limits[0]
    for index, group in enumerate(groups):
        last = limits[1] - step * (len(groups) - 1 - index)
        slot = min(max(at, group.start + min(8.0, (group.end - group.start) / 2)), last)
        marks += _leader(group, slot, bottom, paper)
        at = slot + step
    return marks


def _runs(areas: Sequence[Area]) -> list[_Run]:
    runs: list[_Run] = []
    for area in sorted(areas, key=lambda area: (round(area.y), round(area.height), area.x)):
        last = runs[-1].areas[-1] if runs else None
        if (
            last
            and abs(last.y - area.y) + abs(last.height - area.height) < 1
            and area.x - runs[-1].end < NEXT_TO
        ):
            runs[-1] = _Run((*runs[-1].areas, area))
        else:
            runs.append(_Run((area,)))
    return runs


def _stacked(number: int, runs: Sequence[_Run]) -> list[_Pointed]:
    stacks: list[_Pointed] = []
    for run in sorted(runs, key=lambda run: (run.start, run.y)):
        for index, stack in enumerate(stacks):
            if min(stack.end, run.end) - max(stack.start, run.start) >= 2:
                stacks[index] = _Pointed(number, (*stack.runs, run))
                break
        else:
            stacks.append(_Pointed(number, (run,)))
    return stacks


def _chosen(by_number: Sequence[Sequence[_Pointed]], room: int) -> list[_Pointed]:
    first = [stacks[0] for stacks in by_number]
    others = [stack for stacks in by_number for stack in stacks[1:]]
    return sorted([*first, *others][:room], key=lambda group: (group.start, -group.runs[0].y))


def _leader(group: _Pointed, slot: float, bottom: float, paper: Paper) -> Iterator[Mark]:
    x = min(max(slot, group.start + 1), group.end - 1) if group.end - group.start > 2 else group.start
    foot = bottom + paper.smallest * 0.6
    yield Line(((x, min(run.y for run in group.runs)), (x, bottom), (slot, foot)), "leader")
    for run in group.runs:
        middles = [area.middle[0] for area in run.areas]
        if len(middles) > 1:
            yield Line(((min(x, middles[0]), run.y), (max(x, middles[-1]), run.y)), "leader")
        for middle in middles if len(middles) > 1 else [x]:
            yield Dot(middle, run.y, 1.6, "leader")
    text = (str(group.number),)
    yield Text(slot, foot + paper.smallest, text, paper.smallest, "part-name", is_bold=True)
