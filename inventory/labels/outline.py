"""The piece in outline, in true proportion, its grain as an arrow and its length as a dimension line."""

from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from inventory.labels import setting
from inventory.labels.faces import LabelFace
from shared.fonts import SANS

SLENDEREST = 5.0  # beyond it a strip would be a line on an inch label: it is drawn broken
LINE = 0.6
ARROW = 0.13  # of the figure's size


@dataclass(frozen=True, slots=True)
class Drawn:
    """How large it comes out: length and width of the outline, the figure's type size, and all of it."""

    long: float
    short: float
    figure: float
    width: float
    height: float


def sized(face: LabelFace, width: float, height: float, *, figure: float) -> Drawn:
    """As large as fits, figure and dimension line included."""
    below = figure * 1.2 if face.length_text else 0.0
    long, short = drawn_size(face.length, face.width, width, height - below)
    figure_width = setting.width_of(face.length_text, SANS) * figure
    return Drawn(long, short, figure, max(long, figure_width), short + below)


def draw(canvas: Canvas, face: LabelFace, drawn: Drawn, x: float, y: float) -> None:
    """Draw it with the lower left corner of all of it at x, y; the length runs as the type does."""
    x += (drawn.width - drawn.long) / 2
    y += drawn.height - drawn.short
    canvas.saveState()
    canvas.setLineWidth(LINE)
    if face.kind == "offcut":
        canvas.setDash(2.4, 1.4)
    canvas.rect(x, y, drawn.long, drawn.short, stroke=1, fill=0)
    canvas.setDash()
    if face.grain == "length":
        _arrow(canvas, x, y, drawn)
    if is_broken(face.length, face.width):
        _break(canvas, x, y, drawn.long, drawn.short, across=face.width > face.length)
    if face.length_text:
        _dimension(canvas, face.length_text, x, y, drawn.long, drawn.figure)
    canvas.restoreState()


def is_broken(length: int, width: int) -> bool:
    return max(length, width) > SLENDEREST * min(length, width)


def drawn_size(length: int, width: int, room_width: float, room_height: float) -> tuple[float, float]:
    """The outline's length and width on the label: true, but for what is too slender to be drawn so.

    >>> drawn_size(96, 48, 60.0, 60.0), drawn_size(96, 48, 60.0, 20.0), drawn_size(96, 2, 60.0, 20.0)
    ((60.0, 30.0), (40.0, 20.0), (60.0, 12.0))
    """
    ratio = min(max(width / length, 1 / SLENDEREST), SLENDEREST)
    long = min(room_width, room_height / ratio)
    return long, long * ratio


def _arrow(canvas: Canvas, x: float, y: float, drawn: Drawn) -> None:
    """With the grain, nearly edge to edge where the piece is short, so that it still shows."""
    middle = y + drawn.short / 2
    spare = min(drawn.long * 0.14, drawn.figure)
    start, end = x + spare, x + drawn.long - spare
    head = min(drawn.short * 0.3, drawn.long * 0.22, drawn.figure * 0.8)
    canvas.setLineWidth(min(drawn.figure * ARROW, drawn.long * 0.09))
    path = canvas.beginPath()
    path.moveTo(start, middle)
    path.lineTo(end, middle)
    path.moveTo(end - head, middle + head * 0.7)
    path.lineTo(end, middle)
    path.lineTo(end - head, middle - head * 0.7)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.setLineWidth(LINE)


def _break(canvas: Canvas, x: float, y: float, long: float, short: float, *, across: bool) -> None:
    """Two short zigzags through the long edges: shortened, as a draughtsman shows it."""
    canvas.saveState()
    if across:
        canvas.translate(x + long, y)
        canvas.rotate(90)
        long, short = short, long
    else:
        canvas.translate(x, y)
    at, gap, out = long * 0.3, 1.6, 1.2
    path = canvas.beginPath()
    path.moveTo(at, -out)
    path.lineTo(at + gap, short + out)
    path.lineTo(at + 2 * gap, short + out)
    path.lineTo(at + gap, -out)
    path.close()
    canvas.setFillGray(1)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.line(at, -out, at + gap, short + out)
    canvas.line(at + gap, -out, at + 2 * gap, short + out)
    canvas.restoreState()


def _dimension(canvas: Canvas, text: str, x: float, y: float, long: float, size: float) -> None:
    """The length below the outline, between two ticks; the line shows where the figure leaves room for it."""
    width = setting.width_of(text, SANS) * size
    middle = y - size * 0.62
    tick = size * 0.32
    setting.draw(canvas, text, SANS, size, x + (long - width) / 2, middle - size * 0.36)
    canvas.setLineWidth(LINE * 0.7)
    space = (long - width) / 2 - size * 0.25
    if space > size * 0.25:
        canvas.line(x, middle, x + space, middle)
        canvas.line(x + long - space, middle, x + long, middle)
        canvas.line(x, middle - tick, x, middle + tick)
        canvas.line(x + long, middle - tick, x + long, middle + tick)
