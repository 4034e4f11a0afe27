"""A drawing in lines on paper: no tints, so that it saves ink and reads in black and white."""

from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from jobs.diagrams.lettering import FRACTION_SIZE, FRACTION_SLASH, Fraction, phrase_width, text_width
from jobs.diagrams.marks import Box, Dot, Grain, Line, Look, Mark, Sketch, Text
from shared.fonts import SANS, SANS_BOLD

BLACK, SOFT, FAINT = 0.1, 0.4, 0.62  # shares of white
HATCH_APART, DOTS_APART = 6.0, 4.0


@dataclass(frozen=True, slots=True)
class _Pen:
    width: float
    grey: float
    dash: tuple[float, ...] = ()


PENS: dict[Look, _Pen] = {
    "sheet": _Pen(0.5, SOFT),
    "part": _Pen(1.1, BLACK),
    "offcut": _Pen(0.9, BLACK, (4, 2.5)),
    "waste": _Pen(0.5, SOFT, (0.8, 2)),
    "defect": _Pen(0.9, BLACK),
    "grain": _Pen(0.35, FAINT),
    "grain-arrow": _Pen(1.2, BLACK),
    "dimension": _Pen(0.4, SOFT),
    "leader": _Pen(0.5, BLACK),
}


def ink(canvas: Canvas, sketch: Sketch) -> None:
    """Draw with the sketch's upper left corner at the height of the sketch above the canvas's origin."""
    canvas.saveState()
    canvas.translate(0, sketch.height)
    for mark in sketch.marks:
        _mark(canvas, mark)
    canvas.restoreState()


def _mark(canvas: Canvas, mark: Mark) -> None:
    match mark:
        case Box():
            _box(canvas, mark)
        case Line():
            _pen(canvas, PENS[mark.look])
            path = canvas.beginPath()
            path.moveTo(mark.points[0][0], -mark.points[0][1])
            for x, y in mark.points[1:]:
                path.lineTo(x, -y)
            canvas.drawPath(path)
        case Dot():
            canvas.setFillGray(BLACK)
            canvas.circle(mark.x, -mark.y, mark.radius * 0.8, stroke=0, fill=1)
        case Grain():
            _grain(canvas, mark)
        case Text():
            _text(canvas, mark)


def _pen(canvas: Canvas, pen: _Pen) -> None:
    canvas.setLineWidth(pen.width)
    canvas.setStrokeGray(pen.grey)
    canvas.setDash(list(pen.dash))
    canvas.setLineCap(0)


def _box(canvas: Canvas, box: Box) -> None:
    if box.look == "offcut-hatch":
        _hatch(canvas, box)
    elif box.look == "waste-dots":
        _dots(canvas, box)
    elif box.look == "name-box":
        canvas.setFillGray(1)
        canvas.rect(box.x, -box.y - box.height, box.width, box.height, stroke=0, fill=1)
    else:
        pen = PENS[box.look]
        _pen(canvas, _Pen(0.4, pen.grey) if box.look == "part" and box.is_fine else pen)
        canvas.rect(box.x, -box.y - box.height, box.width, box.height)


def _clip(canvas: Canvas, box: Box) -> None:
    path = canvas.beginPath()
    path.rect(box.x, -box.y - box.height, box.width, box.height)
    canvas.clipPath(path, stroke=0)


def _hatch(canvas: Canvas, box: Box) -> None:
    canvas.saveState()
    _clip(canvas, box)
    _pen(canvas, _Pen(0.35, SOFT))
    at, low, high = box.x - box.height, -box.y - box.height, -box.y
    while at < box.x + box.width:
        canvas.line(at, low, at + box.height, high)
        at += HATCH_APART
    canvas.restoreState()


def _dots(canvas: Canvas, box: Box) -> None:
    """Rows of dots, each row one line of round dashes without length."""
    canvas.saveState()
    _clip(canvas, box)
    canvas.setLineWidth(0.8)
    canvas.setStrokeGray(SOFT)
    canvas.setLineCap(1)
    canvas.setDash([0, DOTS_APART])
    row, y = 0, box.y + 0.5 * DOTS_APART
    while y < box.y + box.height:
        canvas.line(box.x + (0.5 + row % 2) * DOTS_APART / 2, -y, box.x + box.width, -y)
        row, y = row + 1, y + DOTS_APART
    canvas.restoreState()


def _grain(canvas: Canvas, grain: Grain) -> None:
    _pen(canvas, PENS["grain"])
    path = canvas.beginPath()
    for stroke in grain.strokes:
        for half, bend in ((0, stroke.bend), (1, -stroke.bend)):
            along, across = (stroke.y, stroke.x) if grain.is_upright else (stroke.x, stroke.y)
            start = along + half * stroke.run
            # A quadratic curve as a cubic one: its control points lie two thirds of the way to the bend.
            points = [(start, 0.0), *((start + stroke.run * share, bend * 2 / 3) for share in (1 / 3, 2 / 3))]
            points.append((start + stroke.run, 0.0))
            turned = [
                (across + off, -along_at) if grain.is_upright else (along_at, -across - off)
                for along_at, off in points
            ]
            path.moveTo(*turned[0])
            path.curveTo(*turned[1], *turned[2], *turned[3])
    canvas.drawPath(path)


def _text(canvas: Canvas, text: Text) -> None:
    wide = phrase_width(text.phrase, text.size, bold=text.is_bold)
    back = {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    canvas.saveState()
    canvas.setFillGray(BLACK)
    canvas.translate(text.x, -text.y)
    if text.is_upright:
        canvas.rotate(90)
    x = -back
    for run in text.phrase:
        x += _run(canvas, x, run, text.size, SANS_BOLD if text.is_bold else SANS)
    canvas.restoreState()


def _run(canvas: Canvas, x: float, run: str | Fraction, size: float, font: str) -> float:
    """Draw words or a fraction at x on the baseline; how far they reach."""
    bold = font == SANS_BOLD
    if isinstance(run, str):
        canvas.setFont(font, size)
        canvas.drawString(x, 0, run)
        return text_width(run, size, bold=bold)
    small, at = size * FRACTION_SIZE, x
    pieces = ((run.top, small, size * 0.28), (FRACTION_SLASH, size, 0.0), (run.bottom, small, 0.0))
    for words, letter, raised in pieces:
        canvas.setFont(font, letter)
        canvas.drawString(at, raised, words)
        at += text_width(words, letter, bold=bold)
    return at - x
