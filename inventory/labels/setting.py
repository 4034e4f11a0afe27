"""Setting a line of type: fractions as fractions, long names shrunk, then cut, never over the edge.

Sizes and widths are in points.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

ELLIPSIS = "…"
STEP = 0.5
ASCENT = 0.76  # of the type size, from the head of a line set solid to its baseline

# Proper fractions of an inch. 5/4 is a quarter of hardwood and 3/5 no ruler's fraction: both stay as typed.
_FRACTION = re.compile(r"(?:(?<=\d) )?(?<![\d/])(\d{1,2})/(2|4|8|16|32|64)(?![\d/])")
_BREAK = re.compile(r"(?<!\d) +| +(?!\d{1,2}/\d|(?:mm|cm|m|in|ft)\b)")
_FIGURES = 0.62  # of the type size
_RISE = 0.28  # brings a numerator's head level with the whole number's
_HAIR = 0.08  # between a whole number and its fraction


class Run(NamedTuple):
    """A stretch of one size: its text, and its size, rise and space before it as parts of the type size."""

    text: str
    scale: float = 1.0
    rise: float = 0.0
    before: float = 0.0


@lru_cache(maxsize=4096)
def runs(text: str) -> tuple[Run, ...]:
    """A line split where a fraction starts and ends.

    >>> [run.text for run in runs("40 1/2 × 22")], [run.text for run in runs("ash 5/4")]
    (['40', '1', '⁄', '2', ' × 22'], ['ash 5/4'])
    """
    found: list[Run] = []
    end = 0
    for match in _FRACTION.finditer(text):
        numerator, denominator = match.groups()
        if int(numerator) >= int(denominator):
            continue
        if match.start() > end:
            found.append(Run(text[end : match.start()]))
        found.append(Run(numerator, _FIGURES, _RISE, _HAIR if match[0].startswith(" ") else 0.0))
        found.append(Run("⁄"))
        found.append(Run(denominator, _FIGURES))
        end = match.end()
    if end < len(text):
        found.append(Run(text[end:]))
    return tuple(found)


@lru_cache(maxsize=8192)
def width_of(text: str, font: str) -> float:
    """How wide a line is, in type sizes."""
    return sum(run.before + run.scale * _width(run.text, font) for run in runs(text))


@lru_cache(maxsize=8192)
def _width(text: str, font: str) -> float:
    return pdfmetrics.stringWidth(text, font, 1000) / 1000


class Style(NamedTuple):
    """A typeface, the sizes it may have, and how many rows; leading and room after each letter in sizes."""

    font: str
    largest: float
    smallest: float
    leading: float = 1.2
    rows: int = 1
    spaced: float = 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """Lines that fit where they were meant to go."""

    lines: tuple[str, ...]
    style: Style
    size: float

    @property
    def height(self) -> float:
        return len(self.lines) * self.size * self.style.leading


@lru_cache(maxsize=2048)
def fit(text: str, style: Style, width: float, height: float) -> Block:
    """The text as large as width, height and rows allow; where the smallest is too large, with an ellipsis.

    One row is always set, however little the height.
    """
    font, spaced = style.font, style.spaced
    size = max(min(style.largest, height / style.leading), style.smallest)
    while True:
        room = width / size
        allowed = max(1, min(style.rows, int(height / (size * style.leading) + 0.01)))
        lines = wrap(text, font, room, spaced)
        fits = len(lines) <= allowed and all(_room_taken(line, font, spaced) <= room for line in lines)
        if fits or size <= style.smallest:
            break
        size = max(size - STEP, style.smallest)
    if not fits:
        lines = _greedy(text, font, room, spaced)
        lines = [*lines[: allowed - 1], " ".join(lines[allowed - 1 :])]
        lines = [cut(line, font, room, spaced) for line in lines]
    return Block(tuple(lines), style, size)


def wrap(text: str, font: str, room: float, spaced: float = 0.0) -> list[str]:
    """Lines that fit the room, as few as can be and about equally long; a word too wide stands alone."""
    lines = _greedy(text, font, room, spaced)
    narrower = room
    while len(lines) > 1:
        narrower *= 0.95
        tighter = _greedy(text, font, narrower, spaced)
        if len(tighter) > len(lines) or any(_room_taken(line, font, spaced) > narrower for line in tighter):
            break
        lines = tighter
    return lines


def _greedy(text: str, font: str, room: float, spaced: float) -> list[str]:
    lines: list[str] = []
    for word in _words(text):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and _room_taken(longer, font, spaced) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines or [""]


def _words(text: str) -> list[str]:
    """Split at spaces, but not between a number and its fraction or unit."""
    return _BREAK.split(text.strip())


def _room_taken(line: str, font: str, spaced: float) -> float:
    return width_of(line, font) + spaced * len(line)


def cut(text: str, font: str, room: float, spaced: float = 0.0) -> str:
    """As much of the text as the room holds, in type sizes, with an ellipsis where some is missing."""
    if _room_taken(text, font, spaced) <= room:
        return text
    kept = len(text)
    while kept and _room_taken(text[:kept].rstrip(" ,·") + ELLIPSIS, font, spaced) > room:
        kept -= 1
    return text[:kept].rstrip(" ,·") + ELLIPSIS


def stack(canvas: Canvas, blocks: list[Block], x: float, top: float, *, between: float = 0.0) -> None:
    """Draw blocks one below the other, their left edge at x."""
    for block in blocks:
        font, leading, spaced = block.style.font, block.style.leading, block.style.spaced
        for line in block.lines:
            baseline = top - block.size * (ASCENT + (leading - 1) / 2)
            draw(canvas, line, font, block.size, x, baseline, spaced=spaced)
            top -= block.size * leading
        top -= between


def draw(canvas: Canvas, text: str, font: str, size: float, x: float, y: float, *, spaced: float = 0) -> None:
    """Draw one line from x along the baseline y; spaced adds room after each letter."""
    line = canvas.beginText()
    if spaced:
        line.setCharSpace(spaced * size)
    for run in runs(text):
        x += run.before * size
        line.setFont(font, run.scale * size)
        line.setTextOrigin(x, y + run.rise * size)
        line.textOut(run.text)
        x += run.scale * size * _width(run.text, font)
    if spaced:
        line.setCharSpace(0)
    canvas.drawText(line)
