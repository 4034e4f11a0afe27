"""Dimension lines beside a drawing: two end bars, a line and the size in its gap, as a draughtsman draws."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from jobs.cutting.problem import Cut
from jobs.cutting.sawn import Sawn
from jobs.diagrams.lettering import Phrase, length_phrase, phrase_width
from jobs.diagrams.marks import Line, Mark, Text
from shared.measure import Unit


@dataclass(frozen=True, slots=True)
class Span:
    """From where to where on the drawing, and what stands there."""

    start: float
    end: float
    phrase: Phrase

    @property
    def middle(self) -> float:
        return (self.start + self.end) / 2


BESIDE = 7.0  # from a dimension line to a size that stands beside it


def across(span: Span, y: float, size: float) -> list[Mark]:
    """A dimension line that runs across the drawing at y; a size too long for it stands above."""
    marks: list[Mark] = [
        _bar((span.start, y - 4), (span.start, y + 4)),
        _bar((span.end, y - 4), (span.end, y + 4)),
    ]
    if span.end - span.start < needed_across(span, size):
        above = Text(span.middle, y - 0.5 * size, span.phrase, size, "dimension-text")
        return [*marks, Line(((span.start, y), (span.end, y)), "dimension"), above]
    half = phrase_width(span.phrase, size) / 2 + 5
    return [
        *marks,
        Line(((span.start, y), (span.middle - half, y)), "dimension"),
        Line(((span.middle + half, y), (span.end, y)), "dimension"),
        Text(span.middle, y + size * 0.36, span.phrase, size, "dimension-text"),
    ]


def needed_across(span: Span, size: float) -> float:
    """How long a dimension line must be for its size to stand in its gap."""
    return phrase_width(span.phrase, size) + 14


def down(span: Span, x: float, size: float, *, beside: Literal["left", "right"] = "right") -> list[Mark]:
    """A dimension line that runs down the drawing at x; a size too long for it stands beside it."""
    marks: list[Mark] = [
        _bar((x - 4, span.start), (x + 4, span.start)),
        _bar((x - 4, span.end), (x + 4, span.end)),
    ]
    if is_beside(span, size):
        end: Literal["start", "end"] = "start" if beside == "right" else "end"
        at = x + BESIDE if beside == "right" else x - BESIDE
        text = Text(at, span.middle + size * 0.36, span.phrase, size, "dimension-text", anchor=end)
        return [*marks, Line(((x, span.start), (x, span.end)), "dimension"), text]
    half = phrase_width(span.phrase, size) / 2 + 4
    marks += [
        Line(((x, span.start), (x, span.middle - half)), "dimension"),
        Line(((x, span.middle + half), (x, span.end)), "dimension"),
    ]
    return [
        *marks,
        Text(x + size * 0.36, span.middle, span.phrase, size, "dimension-text", is_upright=True),
    ]


def room_beside(row: Sequence[Span], size: float) -> float:
    """How much room dimension lines at a side of the drawing take, with their sizes."""
    beside = [phrase_width(span.phrase, size) + BESIDE for span in row if is_beside(span, size)]
    return 1.2 * size + max(0.8 * size, *beside, 0.0) + 2


def is_beside(span: Span, size: float) -> bool:
    return span.end - span.start < phrase_width(span.phrase, size) + 10


def spans(pieces: Sequence[Sawn], cut: Cut, unit: Unit, origin: float, scale: float) -> list[Span]:
    """One span a strip, or one for equal strips in a row; waste has none."""
    made = []
    for (size, is_waste), run in groupby(pieces, key=lambda piece: (piece.along(cut), piece.kind == "waste")):
        row = list(run)
        if is_waste:
            continue
        start = row[0].y if cut == "rip" else row[0].x
        end = (row[-1].y if cut == "rip" else row[-1].x) + size
        count: Phrase = (f"{len(row)} × ",) if len(row) > 1 else ()
        made.append(Span(origin + start * scale, origin + end * scale, (*count, *length_phrase(size, unit))))
    return made


def apart(row: Sequence[Span], size: float) -> list[Span]:
    """Those of the spans down a drawing whose sizes do not run into one another."""
    kept: list[Span] = []
    for span in row:
        if not kept or not is_beside(span, size) or span.middle - kept[-1].middle >= size:
            kept.append(span)
    return kept


def fitting(row: Sequence[Span], size: float) -> list[Span]:
    """Those of the spans across a drawing that have room for their size."""
    return [span for span in row if span.end - span.start >= needed_across(span, size)]


def _bar(start: tuple[float, float], end: tuple[float, float]) -> Line:
    return Line((start, end), "dimension")
