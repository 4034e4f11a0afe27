"""The frame of a label tells from afar what it is on; the word in it tells whoever does not know the frames.

Points, from the frame's lower left corner.
"""

from itertools import pairwise

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from inventory.labels.faces import Kind
from shared.fonts import SANS

Point = tuple[float, float]
Line = tuple[Point, ...]

LINE = 0.7
HEAVY = 1.6
DASH, SPACE = 4.2, 2.6
BETWEEN = 1.5  # between the two lines of a board's frame


def draw_frame(canvas: Canvas, kind: Kind, width: float, height: float) -> None:
    """Sheet solid, offcut dashed, board double, place corners, part a line above and below, goods a tag."""
    size = max(5.5, min(6.5, min(width, height) * 0.07))
    length = pdfmetrics.stringWidth(kind, SANS, size)
    left = max(10.0, min(width, height) * 0.24)
    canvas.setFont(SANS, size)
    canvas.drawString(left, height - size * 0.3, kind)
    canvas.saveState()
    canvas.setLineWidth(HEAVY if kind == "place" else LINE)
    for line in _lines(kind, width, height, gap=(left - 2, left + length + 2)):
        _draw_line(canvas, line, dashed=kind == "offcut")
    canvas.restoreState()


def _lines(kind: Kind, width: float, height: float, gap: tuple[float, float]) -> list[Line]:
    match kind:
        case "sheet":
            return [_round(width, height, gap)]
        case "offcut":
            corners = _round(width, height, gap)
            return list(pairwise(corners))
        case "board":
            return [_round(width, height, gap), _round(width, height, gap, inset=BETWEEN)]
        case "place":
            arm = min(width, height) * 0.2
            return [
                ((at_x + arm * to_x, at_y), (at_x, at_y), (at_x, at_y + arm * to_y))
                for at_x, to_x in ((0.0, 1), (width, -1))
                for at_y, to_y in ((0.0, 1), (height, -1))
            ]
        case "part":
            return [
                ((0, 0), (width, 0)),
                ((0, height), (gap[0], height)),
                ((gap[1], height), (width, height)),
            ]
        case "goods":
            return [_round(width, height, gap, bevel=min(width, height) * 0.08)]


def _round(
    width: float, height: float, gap: tuple[float, float], *, inset: float = 0, bevel: float = 0
) -> Line:
    """Once round from the right end of the word's gap to its left end, corners cut off by the bevel."""
    left, bottom, right, top = inset, inset, width - inset, height - inset
    corners = (
        ((right - bevel, top), (right, top - bevel)),
        ((right, bottom + bevel), (right - bevel, bottom)),
        ((left + bevel, bottom), (left, bottom + bevel)),
        ((left, top - bevel), (left + bevel, top)),
    )
    between = [point for corner in corners for point in (corner if bevel else corner[:1])]
    return ((gap[1], top), *between, (gap[0], top))


def _draw_line(canvas: Canvas, line: Line, *, dashed: bool) -> None:
    if dashed:
        (x, y), (to_x, to_y) = line
        # Dashes are spaced so that each side begins and ends with one: the corners stay whole.
        length = abs(to_x - x) + abs(to_y - y)
        spaces = max(1, round((length - DASH) / (DASH + SPACE)))
        canvas.setDash(DASH, max(0.1, (length - DASH) / spaces - DASH))
    path = canvas.beginPath()
    path.moveTo(*line[0])
    for point in line[1:]:
        path.lineTo(*point)
    canvas.drawPath(path, stroke=1, fill=0)
