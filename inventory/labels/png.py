"""Labels as pictures, for label printers that take pictures: black or white, one dot of the printer a pixel.

The PDF of the same label is drawn by PDFium (pypdfium2, BSD), so that a picture says what the PDF says.
"""

import io
import threading
import zipfile
from collections.abc import Sequence
from decimal import Decimal

import pypdfium2
from PIL import Image

from inventory.labels.faces import LabelFace
from inventory.labels.layouts import Layout
from inventory.labels.pdf import labels_pdf
from inventory.labels.qr import Dpi
from shared.measure import TICKS_PER_INCH

# PDFium may be used by one thread at a time (its own documentation); the server has several.
_ONE_AT_A_TIME = threading.Lock()
_HALF_GREY = 128


def labels_png(
    faces: Sequence[LabelFace],
    layout: Layout,
    *,
    dpi: Dpi,
    offset_x_mm: Decimal | int = 0,
    offset_y_mm: Decimal | int = 0,
) -> list[bytes]:
    """A PNG for each face, as many pixels as the label has dots. Rolls only.

    Raises ValueError for a sheet of labels, and as labels_pdf does.
    """
    if not layout.is_roll:
        raise ValueError("Pictures are for label printers. Choose a roll, or make the PDF for this paper.")
    pdf = labels_pdf(faces, layout, dpi=dpi, offset_x_mm=offset_x_mm, offset_y_mm=offset_y_mm)
    with _ONE_AT_A_TIME, pypdfium2.PdfDocument(pdf) as document:
        return [_png(page, layout, dpi) for page in document]


def size_in_dots(layout: Layout, dpi: Dpi) -> tuple[int, int]:
    """Width and height of a label in a printer's dots, the nearest whole ones."""
    width, height = (
        round(ticks * dpi / TICKS_PER_INCH) for ticks in (layout.label_width, layout.label_height)
    )
    return width, height


def _png(page: pypdfium2.PdfPage, layout: Layout, dpi: Dpi) -> bytes:
    # A page of no whole number of dots would be stretched to one, and the modules with it. PDFium rounds up,
    # so that a hair's breadth less keeps a whole number what it is.
    width, height = ((dots - 0.01) * 72 / dpi for dots in size_in_dots(layout, dpi))
    page.set_mediabox(0, 0, width, height)
    grey = page.render(scale=dpi / 72, grayscale=True).to_pil()
    picture = grey.point(lambda value: 255 if value >= _HALF_GREY else 0).convert(
        "1", dither=Image.Dither.NONE
    )
    file = io.BytesIO()
    picture.save(file, "PNG", dpi=(dpi, dpi), optimize=True)
    return file.getvalue()


def zipped(pictures: Sequence[bytes], names: Sequence[str]) -> bytes:
    """Several pictures in one file, each under its name, in their order."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:  # a PNG gets no smaller
        for number, (name, picture) in enumerate(zip(names, pictures, strict=True), 1):
            archive.writestr(f"{number:03}-{name}.png", picture)
    return file.getvalue()
