"""Labels on paper: what a piece, a part or a place says about itself, and a code that a phone reads.

Faces and a layout go in, the bytes of a PDF come out; no database.
"""

from inventory.labels.faces import LabelFace, came_from
from inventory.labels.layouts import LAYOUTS, Layout
from inventory.labels.pdf import labels_pdf
from inventory.labels.qr import LabelTooSmall, module_mm

__all__ = [
    "LAYOUTS",
    "LabelFace",
    "LabelTooSmall",
    "Layout",
    "came_from",
    "labels_pdf",
    "module_mm",
]
