"""Faces to print in tests, and what a scanner makes of the printed page."""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

import pypdfium2
import pypdfium2.raw as pdfium
import zxingcpp

from inventory.labels import LabelFace
from shared.codes import code_for
from shared.measure import inches

QR_ONLY = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
ORIGIN = "HTTP://192.168.1.20:8000"


def make_face(number: int = 1, length: str = "40 1/2", width: str = "22", **others) -> LabelFace:
    code = code_for(number)
    face: dict[str, Any] = {
        "code": code,
        "address": f"{others.pop('origin', ORIGIN)}/S/{code}",
        "heading": "White oak plywood 3/4 veneer core",
        "lines": ("from K7M-2Q8, 12 Oct 2026",),
        "size_text": f"{length} × {width}",
        "grain": "length",
        "kind": "offcut",
        "length": inches(length),
        "width": inches(width),
    }
    return LabelFace(**{**face, **others})


def make_place(number: int = 1, heading: str = "Bay A1, shelf 2", **others) -> LabelFace:
    place: dict[str, Any] = {"kind": "place", "size_text": "", "grain": "none", "length": 0, "width": 0}
    return make_face(number, heading=heading, **{**place, **others})


@dataclass(frozen=True)
class Seen:
    """What a scanner read, and where: the code's edges in millimetres from the paper's top left corner."""

    text: str
    page: int
    left: Decimal
    top: Decimal
    right: Decimal
    bottom: Decimal


def scan(pdf: bytes, dpi: int = 300) -> list[Seen]:
    """Print a PDF at so many dots an inch and read every code on it with an independent decoder."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [seen for number, page in enumerate(document) for seen in _scan_page(page, number, dpi)]


def _scan_page(page: pypdfium2.PdfPage, number: int, dpi: int) -> list[Seen]:
    image = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    found = []
    for code in zxingcpp.read_barcodes(image, formats=QR_ONLY):
        at = code.position
        corners = (at.top_left, at.top_right, at.bottom_left, at.bottom_right)
        across = [Decimal(point.x) * Decimal("25.4") / dpi for point in corners]
        down = [Decimal(point.y) * Decimal("25.4") / dpi for point in corners]
        found.append(Seen(code.text, number, min(across), min(down), max(across), max(down)))
    return sorted(found, key=lambda seen: (seen.page, round(seen.top), round(seen.left)))


def words_of(pdf: bytes) -> str:
    """All text of a PDF, white space as single spaces."""
    with pypdfium2.PdfDocument(pdf) as document:
        return re.sub(r"\s+", " ", " ".join(page.get_textpage().get_text_range() for page in document))


class Printed(NamedTuple):
    """One thing on a page: its bounds in points from the lower left, and of how many lines a path is made."""

    kind: str
    bounds: tuple[float, float, float, float]
    segments: int


KINDS = {pdfium.FPDF_PAGEOBJ_TEXT: "text", pdfium.FPDF_PAGEOBJ_PATH: "path"}


def printed_on(pdf: bytes) -> list[Printed]:
    """What is on the first page."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [
            Printed(
                KINDS.get(item.type, "other"), tuple(item.get_bounds()), pdfium.FPDFPath_CountSegments(item)
            )
            for item in document[0].get_objects()
        ]
