"""The printer test page: each label's edge, and rulers from the paper's edges, to read the offset from."""

from reportlab.pdfgen.canvas import Canvas

from inventory.labels import setting
from inventory.labels.layouts import Layout
from shared.fonts import SANS, SANS_BOLD
from shared.measure import TICKS_PER_INCH, TICKS_PER_MM

POINTS_PER_TICK = 72 / TICKS_PER_INCH
POINTS_PER_MM = 72 / 25.4
MARK_LENGTHS_MM = {10: 2.6, 5: 1.9, 1: 1.1}  # by which millimetres have them
FIGURES = 5.5
FURTHEST_MARK = 100
RULER_ROOM = 8 * TICKS_PER_MM  # what a ruler takes with its figures
BELOW_RULER = 4 * TICKS_PER_MM


def draw_test_page(canvas: Canvas, layout: Layout, offset: tuple[float, float], offset_text: str) -> None:
    """Draw it on the canvas's page, moved by the offset in points to the right and up."""
    height = layout.paper_height * POINTS_PER_TICK
    x, y = _crossing(layout)
    canvas.saveState()
    canvas.translate(*offset)
    _edges(canvas, layout, height)
    _ruler(canvas, layout.paper_width, across=x, at=height - y)
    canvas.translate(0, height)
    canvas.rotate(-90)
    _ruler(canvas, layout.paper_height, across=y, at=x)
    canvas.rotate(90)
    _words(canvas, layout, offset_text)
    canvas.restoreState()


def _crossing(layout: Layout) -> tuple[float, float]:
    """Where the rulers cross, from the top left: inside a label of the middle row, clear of the words."""
    left, top = layout.corner((layout.rows // 2) * layout.columns + (layout.columns + 1) // 2)
    right, down = left + layout.label_width - RULER_ROOM, top + layout.label_height - BELOW_RULER
    return right * POINTS_PER_TICK, down * POINTS_PER_TICK


def _edges(canvas: Canvas, layout: Layout, height: float) -> None:
    canvas.setLineWidth(0.4)
    for position in range(1, layout.count + 1):
        left, top = (ticks * POINTS_PER_TICK for ticks in layout.corner(position))
        label_height = layout.label_height * POINTS_PER_TICK
        canvas.rect(left, height - top - label_height, layout.label_width * POINTS_PER_TICK, label_height)


def _ruler(canvas: Canvas, length: int, *, across: float, at: float) -> None:
    """Millimetres from the paper's edge along a line, a figure every ten, none where the other ruler runs."""
    canvas.setLineWidth(0.3)
    canvas.setFont(SANS, FIGURES)
    length_mm = length // TICKS_PER_MM
    canvas.line(0, at, length * POINTS_PER_TICK, at)
    for millimetre in range(length_mm + 1):
        mark = next(mark for every, mark in MARK_LENGTHS_MM.items() if millimetre % every == 0)
        x = millimetre * POINTS_PER_MM
        canvas.line(x, at, x, at + mark * POINTS_PER_MM)
        if millimetre % 10 == 0 and 0 < millimetre < length_mm - 3 and abs(x - across) > 3.5 * FIGURES:
            _figure(canvas, str(millimetre), x, at + 3.1 * POINTS_PER_MM)


def _figure(canvas: Canvas, text: str, x: float, y: float) -> None:
    """A figure on a clear ground, so that no label's edge runs through it."""
    width = setting.width_of(text, SANS) * FIGURES
    canvas.setFillGray(1)
    canvas.rect(x - width / 2 - 0.5, y - 0.5, width + 1, FIGURES * 0.73 + 1, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.drawString(x - width / 2, y, text)


def _words(canvas: Canvas, layout: Layout, offset_text: str) -> None:
    """How to read it, in the first label; the canvas's origin is the paper's top left corner."""
    left, top = layout.corner(1)
    right, down = _mark(layout.paper_width), _mark(layout.paper_height)
    y = -(top + layout.inset_y) * POINTS_PER_TICK
    width = (layout.label_width - layout.inset_x - RULER_ROOM) * POINTS_PER_TICK * 0.96
    height = (layout.label_height - layout.inset_y - RULER_ROOM - BELOW_RULER) * POINTS_PER_TICK
    text = (
        f"Print at actual size. On the level ruler {right} should be {right} mm from the paper's left edge, "
        f"on the upright one {down} should be {down} mm from the top. "
        "Move the print further right or down by what is missing, back by what is too much. "
        f"This print is moved {offset_text}."
    )
    title = setting.fit("Printer test", setting.Style(SANS_BOLD, 6.5, 6.5), width, height)
    style = setting.Style(SANS, 7.5, 3.5, leading=1.15, rows=12)
    body = setting.fit(text, style, width, height - title.height)
    setting.stack(canvas, [title, body], (left + layout.inset_x) * POINTS_PER_TICK, y)


def _mark(paper: int) -> int:
    """A whole ten of millimetres at a place where a rule is read with ease."""
    return min(FURTHEST_MARK, paper // TICKS_PER_MM // 20 * 10)
