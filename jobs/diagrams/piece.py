"""One piece as it lies on the bench: its proportion, its defects and the way its grain runs."""

from collections.abc import Sequence
from typing import Literal

from jobs.diagrams.drawing import crossed, defects_in_words
from jobs.diagrams.geometry import Flaw
from jobs.diagrams.grain import grain
from jobs.diagrams.lettering import text_width
from jobs.diagrams.marks import PIECE, Box, Line, Mark, Paper, Sketch, Text
from jobs.diagrams.naming import Area
from jobs.diagrams.svg import to_svg
from shared.measure import Unit, format_size

Grain = Literal["length", "width", "none"]
WORDS: dict[Grain, str] = {"length": "grain", "width": "grain", "none": "no grain"}
SAID: dict[Grain, str] = {
    "length": "The grain runs along the length, from left to right.",
    "width": "The grain runs across the length, from bottom to top.",
    "none": "It has no grain: either way round is the same.",
}
EDGE = 2.0


def piece_drawing(
    length: int,
    width: int,
    *,
    unit: Unit,
    prefix: str,
    grain: Grain = "length",
    defects: Sequence[Flaw] = (),
    paper: Paper = PIECE,
    has_arrow: bool = True,
) -> str:
    """A piece or a part as SVG, its length across the drawing, with an arrow along the grain unless it is bare.

    ``grain`` is the way it runs: along the length as on any piece of grained stock, across it for a part that
    is cut turned, or none. Sizes are not written in: they stand above the drawing, larger.
    """
    sketch = piece_sketch(length, width, unit, grain, defects, paper, has_arrow=has_arrow)
    return to_svg(sketch, prefix=prefix)


def piece_sketch(
    length: int,
    width: int,
    unit: Unit,
    runs: Grain,
    defects: Sequence[Flaw],
    paper: Paper,
    *,
    has_arrow: bool = True,
) -> Sketch:
    scale = min((paper.width - 2 * EDGE) / length, paper.tallest / width)
    area = Area(EDGE, EDGE, length * scale, width * scale)
    marks: list[Mark] = [Box(area.x, area.y, area.width, area.height, "part")]
    if runs != "none":
        strokes = grain(
            area.x,
            area.y,
            area.width,
            area.height,
            seed=f"{length} {width}",
            spacing=paper.grain_spacing,
            is_upright=runs == "width",
        )
        marks += [strokes] if strokes.strokes else []
    for flaw in defects:
        marks += crossed(
            Area(EDGE + flaw.x * scale, EDGE + flaw.y * scale, flaw.length * scale, flaw.width * scale)
        )
    arrow, right, bottom = _arrow(area, runs, paper) if has_arrow else ([], *_corner(area))
    said = [SAID[runs], defects_in_words(len(defects))]
    title = f"Piece, {format_size(length, width, unit)} {unit}"
    return Sketch(right + EDGE, bottom + EDGE, (*marks, *arrow), title, " ".join(said).strip())


def _corner(area: Area) -> tuple[float, float]:
    return area.x + area.width, area.y + area.height


def _arrow(area: Area, runs: Grain, paper: Paper) -> tuple[list[Mark], float, float]:
    """The arrow with its word, in the piece or below it, and how far the drawing then reaches."""
    letter = paper.lettering
    wide = text_width(WORDS[runs], letter)
    right, bottom = _corner(area)
    x, y = area.middle
    if runs == "width":
        if area.height >= wide + 2 * letter and area.width >= 3 * letter:
            return _upright(x, y, 0.65 * area.height, letter), right, bottom
        x = max(x, EDGE + letter)
        marks = [
            *_upright(x, bottom + 2 * letter, 2.4 * letter, letter)[:2],
            _word(x + letter, bottom + 2.4 * letter, letter),
        ]
        return marks, max(right, x + letter + wide), bottom + 3.3 * letter
    is_inside = area.height >= 3 * letter and area.width >= wide + 2 * letter
    long = max(0.65 * area.width, wide + 2.5 * letter)
    x, y = (x, y + 0.4 * letter) if is_inside else (max(x, EDGE + long / 2), bottom + 1.9 * letter)
    below = 0.3 * letter if runs == "none" else 0.7 * letter
    return _level(x, y, long, runs, letter), max(right, x + long / 2), bottom if is_inside else y + below


def _level(x: float, y: float, long: float, runs: Grain, letter: float) -> list[Mark]:
    if runs == "none":
        return [Text(x, y, (WORDS[runs],), letter, "part-size")]
    tip, head = x + long / 2, 0.5 * letter
    return [
        Line(((x - long / 2, y), (tip, y)), "grain-arrow"),
        Line(((tip - 1.6 * head, y - head), (tip, y), (tip - 1.6 * head, y + head)), "grain-arrow"),
        Text(x - 0.4 * letter, y - 0.5 * letter, (WORDS[runs],), letter, "part-size"),
    ]


def _upright(x: float, y: float, long: float, letter: float) -> list[Mark]:
    tip, head = y - long / 2, 0.5 * letter
    return [
        Line(((x, y + long / 2), (x, tip)), "grain-arrow"),
        Line(((x - head, tip + 1.6 * head), (x, tip), (x + head, tip + 1.6 * head)), "grain-arrow"),
        Text(x - 0.5 * letter, y, (WORDS["width"],), letter, "part-size", is_upright=True),
    ]


def _word(x: float, y: float, letter: float) -> Text:
    return Text(x, y, (WORDS["width"],), letter, "part-size", anchor="start")
