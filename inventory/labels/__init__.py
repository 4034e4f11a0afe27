"""Labels on paper: what a piece, a part or a place says about itself, and a code that a phone reads.

Faces and a layout go in, the bytes of a PDF or of pictures come out; no database.
"""

from inventory.labels.faces import LabelFace, came_from
from inventory.labels.layouts import LAYOUTS, Layout
from inventory.labels.pdf import labels_pdf
from inventory.labels.png import labels_png, zipped
from inventory.labels.qr import DPI, OFFICE_DPI, Dpi, LabelTooSmall, module_mm

__all__ = [
    "DPI",
    "LAYOUTS",
    "OFFICE_DPI",
    "Dpi",
    "LabelFace",
    "LabelTooSmall",
    "Layout",
    "came_from",
    "labels_pdf",
    "labels_png",
    "module_mm",
    "zipped",
]
