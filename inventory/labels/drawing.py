"""Drawing one face: frame by kind, scan code, size, words, and the piece in outline with its grain.

Points throughout, from the face's lower left corner. Lines only, black, nothing filled but type and code:
a label is read in poor light, and ink is dear. What people look for stands first and largest: the size of a
piece, the name of anything else.
"""

from dataclasses import dataclass
from itertools import pairwise

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from inventory.labels import outline
from inventory.labels.faces import LabelFace
from inventory.labels.frames import draw_frame
from inventory.labels.qr import FRAME_ROOM, QUIET_ZONE, Dpi, QrSize, Symbol
from inventory.labels.setting import Block, Style, fit, stack, width_of
from shared.fonts import SANS, SANS_BOLD
from shared.measure import TICKS_PER_INCH

ROOM = FRAME_ROOM * 72 / TICKS_PER_INCH
STACKED_BELOW = 1.6  # width by height; squarer labels have the size and the words below the code, not beside
# The words' room on an inch label, for which the type sizes below were chosen; larger labels scale them.
BASE_WIDTH, BASE_HEIGHT = 118.0, 58.0
MANY_LINES = 3  # of small print
SMALLEST = 5.2  # smaller is not read without stooping


@dataclass(frozen=True, slots=True)
class Box:
    """Room to draw in: lower left corner, width and height."""

    x: float
    y: float
    width: float
    height: float

    @property
    def top(self) -> float:
        return self.y + self.height


def draw_face(
    canvas: Canvas, face: LabelFace, symbol: Symbol, size: QrSize, width: float, height: float
) -> None:
    """Draw a face of that width and height with its lower left corner at the origin."""
    module = size.module_points
    side = size.side_modules * module
    draw_frame(canvas, face.kind, width, height)
    inside = Box(ROOM, ROOM, width - 2 * ROOM, height - 2 * ROOM)
    words_x = inside.x + side + ROOM / 2  # letters such as J reach to the left of where they stand
    words_width = inside.x + inside.width - words_x - 2 * ROOM
    if inside.width / inside.height < STACKED_BELOW:
        code_y = inside.top - side
        quiet = QUIET_ZONE * module
        beside = Box(words_x, code_y + quiet, words_width, side - 2 * quiet)
        below = Box(quiet, 2 * ROOM, width - quiet - 3 * ROOM, code_y - 2 * ROOM)
        _draw_stacked(canvas, face, beside, below)
    else:
        code_y = inside.y + (inside.height - side) / 2
        air = max(ROOM, inside.height * 0.04)
        _draw_beside(canvas, face, Box(words_x, inside.y + air / 2, words_width, inside.height - 1.5 * air))
    _draw_code(canvas, symbol, module, on_dot(inside.x, size.dpi), on_dot(code_y, size.dpi))


def on_dot(points: float, dpi: Dpi) -> float:
    """The nearest printer dot, so that all modules come out alike."""
    return round(points / 72 * dpi) * 72 / dpi


def _draw_code(canvas: Canvas, symbol: Symbol, module: float, x: float, y: float) -> None:
    """One path, a rectangle for each run; scaled so that the numbers in the file are whole and short."""
    canvas.saveState()
    canvas.transform(module, 0, 0, module, x, y)
    top = symbol.modules + QUIET_ZONE - 1
    # Written out here: PDFPathObject.rect() formats each number as a float, a third of all the time.
    rectangles = [f"{column + QUIET_ZONE} {top - row} {many} 1 re" for column, row, many in symbol.runs]
    canvas.drawPath(PDFPathObject(rectangles), stroke=0, fill=1)
    canvas.restoreState()


def _draw_beside(canvas: Canvas, face: LabelFace, box: Box) -> None:
    """Wide labels: headline across; below it code and name, the outline on their right; then the rest."""
    scale = min(box.height / BASE_HEIGHT, box.width / BASE_WIDTH)
    # Where there is much to say (a part's job, edges, place and next step) the large print makes room for it.
    is_full = len(face.lines) > MANY_LINES
    share = 0.28 if is_full else 0.62 if face.leads_with_size or not face.second else 0.5
    head = _headline(face, box.width, box.height * share, scale)
    left = box.height - head.height
    kept_free = 12 + (8 if is_full else 16) * bool(face.second)
    small = _small_print(face, box.width, left - kept_free * scale, scale)
    left -= _height(small)
    drawn = _outline(face, box.width * 0.42, left - 3 * scale, scale)
    beside = box.width - (drawn.width + 4 * scale if drawn else 0)
    code = _code(face, beside, left, 12 * scale)
    blocks = [head, code, *_second(face, beside, left - code.height, scale)]
    stack(canvas, blocks, box.x, box.top, between=_between(blocks, box.height - _height(small), scale))
    stack(canvas, small, box.x, box.y + _height(small))
    if drawn:
        y = box.top - head.height - (left + drawn.height) / 2
        outline.draw(canvas, face, drawn, box.x + box.width - drawn.width, y)


def _draw_stacked(canvas: Canvas, face: LabelFace, beside: Box, below: Box) -> None:
    """Squarer labels: code and outline to the right of the scan code, headline and words below both."""
    scale = min(below.height / (BASE_HEIGHT * 0.75), below.width / BASE_WIDTH)
    code = _code(face, beside.width, beside.height * 0.3, 14 * scale)
    head = _headline(face, below.width, below.height * (0.55 if face.has_outline else 0.95), scale * 1.3)
    left = below.height - head.height
    drawn = _outline(face, beside.width, beside.height - code.height - 4 * scale, scale)
    if drawn:
        small = _small_print(face, below.width, left - 8 * scale, scale)
        outline.draw(canvas, face, drawn, beside.x, beside.y)
        stack(canvas, [code], beside.x, beside.top)
    else:
        aside = [code, *_small_print(face, beside.width, beside.height - code.height, scale)]
        stack(canvas, aside, beside.x, beside.top, between=3 * scale)
        small = []
    blocks = [head, *_second(face, below.width, left - _height(small), scale), *small]
    stack(canvas, blocks, below.x, below.top, between=_between(blocks, below.height, scale))


def _height(blocks: list[Block]) -> float:
    return sum(block.height for block in blocks)


def _between(blocks: list[Block], height: float, scale: float) -> float:
    """Share what height is to spare among the blocks, but keep them together."""
    return min(max(height - _height(blocks), 0) / len(blocks), 4 * scale)


def _headline(face: LabelFace, width: float, height: float, scale: float) -> Block:
    if face.leads_with_size:
        style = Style(SANS_BOLD, 21 * scale, 8 * scale, leading=1.0)
    else:
        style = Style(SANS_BOLD, 26 * scale, max(SMALLEST, 7 * scale), leading=1.08, rows=2)
    return fit(face.headline, style, width, height)


def _code(face: LabelFace, width: float, height: float, largest: float) -> Block:
    return fit(face.code_text, Style(SANS_BOLD, largest, SMALLEST, leading=1.0, spaced=0.06), width, height)


def _second(face: LabelFace, width: float, height: float, scale: float) -> list[Block]:
    """The name of the material, as large as there is room for, on up to four rows."""
    if not face.second:
        return []
    style = Style(SANS, 8.5 * scale, max(SMALLEST, min(6.0, 6.0 * scale)), rows=4)
    return [fit(face.second, style, width, height)]


def _small_print(face: LabelFace, width: float, height: float, scale: float) -> list[Block]:
    """The lines, each on a row of its own; where there are fewer rows, as many on one as it holds."""
    if not face.lines:
        return []
    largest = 5.8 if len(face.lines) > MANY_LINES else 6.5
    style = Style(SANS, largest * scale, max(SMALLEST, min(5.5, 5 * scale)))
    row = style.largest * style.leading
    rows = max(1, min(len(face.lines), int(height / row)))
    return [fit(line, style, width, row) for line in _on_rows(face.lines, rows, width / style.smallest)]


def _on_rows(lines: tuple[str, ...], rows: int, room: float) -> list[str]:
    """Lines on so many rows, in their order: where they are more, neighbours share a row that has the room, in
    type sizes; what is left over stands on the last."""
    shared = list(lines)
    while len(shared) > rows:
        pairs = [f"{one} · {other}" for one, other in pairwise(shared)]
        at = min(range(len(pairs)), key=lambda at: (width_of(pairs[at], SANS) > room, at))
        if width_of(pairs[at], SANS) > room:
            at = len(pairs) - 1
        shared[at : at + 2] = [pairs[at]]
    return shared


def _outline(face: LabelFace, width: float, height: float, scale: float) -> outline.Drawn | None:
    if not face.has_outline:
        return None
    return outline.sized(face, width, height, figure=6.5 * scale)
