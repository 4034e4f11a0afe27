"""Labels as a PDF, ready for the printer: vectors only, at their true place on the paper."""

import io
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from inventory.labels.drawing import draw_face, on_dot
from inventory.labels.faces import LabelFace
from inventory.labels.layouts import Layout
from inventory.labels.qr import OFFICE_DPI, Dpi, QrSize, size_on, symbol
from inventory.labels.testpage import draw_test_page
from shared.fonts import SANS, register_fonts
from shared.measure import TICKS_PER_INCH

POINTS_PER_TICK = 72 / TICKS_PER_INCH
POINTS_PER_MM = 72 / 25.4
WIDEST_OFFSET_MM = 10


def labels_pdf(
    faces: Sequence[LabelFace],
    layout: Layout,
    *,
    start: int = 1,
    offset_x_mm: Decimal | int = 0,
    offset_y_mm: Decimal | int = 0,
    test_page: bool = False,
    dpi: Dpi = OFFICE_DPI,
) -> bytes:
    """The faces on as many pages as they need, the first on the label `start` of a sheet used before.

    The offset moves all print to the right and down, for a printer that feeds a little askew; the test page,
    which comes first, shows how much. The modules of the scan codes are whole dots of a printer of that dpi.
    Raises ValueError or LabelTooSmall with a sentence.
    """
    _check(faces, layout, start, (offset_x_mm, offset_y_mm), test_page)
    register_fonts()
    offset = float(offset_x_mm) * POINTS_PER_MM, -float(offset_y_mm) * POINTS_PER_MM
    file = io.BytesIO()
    canvas = _canvas(file, layout)
    if test_page:
        draw_test_page(canvas, layout, offset, f"{offset_x_mm} mm right, {offset_y_mm} mm down")
        canvas.showPage()
    sizes = {length: size_on(layout, length, dpi) for length in {len(face.address) for face in faces}}
    for number, face in enumerate(faces, start - 1):
        if number % layout.count == 0 and number >= start:
            canvas.showPage()
        _draw_label(canvas, face, layout, number % layout.count + 1, sizes[len(face.address)], offset)
    canvas.save()
    return file.getvalue()


def _check(
    faces: Sequence[LabelFace],
    layout: Layout,
    start: int,
    offsets: tuple[Decimal | int, ...],
    test_page: bool,
) -> None:
    if not faces and not test_page:
        raise ValueError("There are no labels to print.")
    if not 1 <= start <= layout.count:
        raise ValueError(f"The first label can be 1 to {layout.count} on this sheet, not {start}.")
    if not all(-WIDEST_OFFSET_MM <= offset <= WIDEST_OFFSET_MM for offset in offsets):
        raise ValueError(f"The printer offset can be {WIDEST_OFFSET_MM} mm at most. Feed the sheet straight.")


def _canvas(file: io.BytesIO, layout: Layout) -> Canvas:
    size = layout.paper_width * POINTS_PER_TICK, layout.paper_height * POINTS_PER_TICK
    # Types for reportlab say that a font name is a number.
    font: Any = SANS
    canvas = Canvas(file, pagesize=size, initialFontName=font, pageCompression=1, invariant=1)
    canvas.setTitle("Labels")
    canvas.setAuthor("Sawbuck")
    canvas.setCreator("Sawbuck")
    # A viewer that "fits to page" would move every label.
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _draw_label(
    canvas: Canvas, face: LabelFace, layout: Layout, position: int, size: QrSize, offset: tuple[float, float]
) -> None:
    left, top = layout.corner(position)
    x = (left + layout.inset_x) * POINTS_PER_TICK + offset[0]
    y = (layout.paper_height - top - layout.label_height + layout.inset_y) * POINTS_PER_TICK + offset[1]
    width, height = (ticks * POINTS_PER_TICK for ticks in layout.face_size)
    canvas.saveState()
    canvas.translate(on_dot(x, size.dpi), on_dot(y, size.dpi))
    if layout.is_turned:
        canvas.translate(on_dot(height, size.dpi), 0)
        canvas.rotate(90)
    draw_face(canvas, face, symbol(face.address, size.level), size, width, height)
    canvas.restoreState()
