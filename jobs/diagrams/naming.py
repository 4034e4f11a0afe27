"""Which lettering fits into a piece, and what happens where there is no room for a name."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobs.diagrams.lettering import Phrase, phrase_width, text_width, wrapped
from jobs.diagrams.marks import Box, Look, Mark, Paper, Text

LEADING = 1.3  # from one line to the next, in letter heights
INSET = 7.0  # what stays free beside lettering, both sides together


@dataclass(frozen=True, slots=True)
class Area:
    """A piece on the drawing."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> tuple[float, float]:
        return self.x + self.width / 2, self.y + self.height / 2


@dataclass(frozen=True, slots=True)
class _Run:
    phrase: Phrase
    is_name: bool

    def width(self, lettering: float) -> float:
        return phrase_width(self.phrase, lettering, bold=self.is_name)


_Row = tuple[_Run, ...]  # what stands on one line


def name_and_size(area: Area, name: str, size: Phrase, paper: Paper) -> list[Mark] | None:
    """The name over the size or beside it, turned where it only fits so; None where nothing fits."""
    for is_upright in (False, True):
        wide, high = (area.height, area.width) if is_upright else (area.width, area.height)
        for lettering in (paper.lettering, (paper.lettering + paper.smallest) / 2, paper.smallest):
            for rows in _arrangements(name, size, wide - INSET, lettering):
                if _fits(rows, wide - INSET, high - 5, lettering):
                    return _lettered(area, rows, lettering, is_upright)
    return None


def number(area: Area, text: str, paper: Paper) -> list[Mark] | None:
    """A number in a piece without room for its name; None where even that does not fit."""
    lettering = paper.smallest
    if text_width(text, lettering, bold=True) + 4 > area.width or lettering > area.height:
        return None
    return _lettered(area, [(_Run((text,), True),)], lettering, False)


def _arrangements(name: str, size: Phrase, wide: float, lettering: float) -> Iterator[list[_Row]]:
    size_run = _Run(size, False)
    yield [(_Run((name,), True),), (size_run,)]
    broken = wrapped(name, wide, lettering, lines=2, bold=True)
    if broken:
        yield [*[(_Run((line,), True),) for line in broken], (size_run,)]
    yield [(_Run((f"{name}  ",), True), size_run)]


def _row_width(row: _Row, lettering: float) -> float:
    return sum(run.width(lettering) for run in row)


def _fits(rows: Sequence[_Row], wide: float, high: float, lettering: float) -> bool:
    needed = lettering * (1.1 + LEADING * (len(rows) - 1))
    return needed <= high and all(_row_width(row, lettering) <= wide for row in rows)


def _lettered(area: Area, rows: Sequence[_Row], lettering: float, is_upright: bool) -> list[Mark]:
    middle_x, middle_y = area.middle
    across = max(_row_width(row, lettering) for row in rows) + INSET - 1
    high = lettering * (1.1 + LEADING * (len(rows) - 1)) + 1
    if is_upright:
        box = Box(middle_x - high / 2, middle_y - across / 2, high, across, "name-box")
    else:
        box = Box(middle_x - across / 2, middle_y - high / 2, across, high, "name-box")
    marks: list[Mark] = [box]
    for index, row in enumerate(rows):
        down = lettering * (0.36 + LEADING * (index - (len(rows) - 1) / 2))
        marks += _on_one_line(row, middle_x, middle_y, down, lettering, is_upright)
    return marks


def _on_one_line(
    row: _Row, middle_x: float, middle_y: float, down: float, lettering: float, is_upright: bool
) -> Iterator[Text]:
    at = -_row_width(row, lettering) / 2
    for run in row:
        wide = run.width(lettering)
        along = at + wide / 2
        x, y = (middle_x + down, middle_y - along) if is_upright else (middle_x + along, middle_y + down)
        look: Look = "part-name" if run.is_name else "part-size"
        yield Text(x, y, run.phrase, lettering, look, is_bold=run.is_name, is_upright=is_upright)
        at += wide
