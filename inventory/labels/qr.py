"""The scan code: an address as a QR symbol (ISO/IEC 18004), in runs of dark modules to draw as rectangles."""

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_M

from inventory.labels.layouts import Layout
from shared.measure import TICKS_PER_INCH, TICKS_PER_MM

DOTS_PER_INCH = 300
QUIET_ZONE = 4
FEWEST_DOTS = 6  # 0.51 mm: what a phone still reads from a scuffed label
MOST_DOTS = 16  # 1.35 mm: read at arm's length from a place label, and no larger, to save ink
# Between the frame and the quiet zone, for the second line of a board's frame.
FRAME_ROOM = round(Decimal("0.7") * TICKS_PER_MM)
# One of the standard's eight masks, named inside the symbol. Weighing them all takes five times as long, and
# of 6,000 spoiled images no fewer were read with this one (tests/bench/label_masks.py).
MASK = 3
_DARK = re.compile(b"\x01+")


class LabelTooSmall(ValueError):  # noqa: N818  read as a sentence by whoever chose the layout
    """The layout's labels can't hold the code at a size that a phone reads."""


class Run(NamedTuple):
    """Dark modules side by side: where the first lies from the symbol's top left, and how many."""

    column: int
    row: int
    modules: int


class Symbol(NamedTuple):
    """A QR symbol without its quiet zone."""

    modules: int
    runs: tuple[Run, ...]


def symbol(address: str) -> Symbol:
    """The address as a QR symbol at level M."""
    matrix = _encode(address, _version(len(address))).get_matrix()
    return Symbol(len(matrix), tuple(run for row, cells in enumerate(matrix) for run in _runs(row, cells)))


def _encode(address: str, version: int | None) -> QRCode:
    code = QRCode(version=version, error_correction=ERROR_CORRECT_M, border=0, mask_pattern=MASK)
    code.add_data(address, optimize=0)
    code.make(fit=version is None)
    return code


@cache
def _version(characters: int) -> int:
    """The smallest version that holds so many alphanumeric characters; the same for all labels of a shop."""
    return int(_encode("A" * characters, None).version)


def _runs(row: int, cells: list[bool]) -> Iterator[Run]:
    line = bytes(cells)
    for dark in _DARK.finditer(line):
        yield Run(dark.start(), row, dark.end() - dark.start())


def side_modules(address: str) -> int:
    """Modules along a side, quiet zone included: 33 for an address of up to 38 characters.

    >>> side_modules("HTTP://192.168.1.20:8000/S/K7M2Q4")
    33
    """
    return 17 + 4 * _version(len(address)) + 2 * QUIET_ZONE


def module_dots(layout: Layout, address: str) -> int:
    """How many 300 dpi dots a module measures on this layout's labels.

    As large as the face's height and rather less than half its width allow: the words beside it need
    the rest. Raises LabelTooSmall below half a millimetre.
    """
    width, height = (size - 2 * FRAME_ROOM for size in layout.face_size)
    side = side_modules(address) * TICKS_PER_INCH
    dots = min(height, width * 42 // 100) * DOTS_PER_INCH // side
    if dots < FEWEST_DOTS <= min(height, width // 2) * DOTS_PER_INCH // side:
        dots = FEWEST_DOTS
    if dots < FEWEST_DOTS:
        least_mm = Decimal(FEWEST_DOTS * side) / DOTS_PER_INCH / TICKS_PER_MM
        raise LabelTooSmall(
            f"{layout.name}: too small for the code with this address of {len(address)} characters, which "
            f"needs {least_mm:.1f} mm. Choose a larger label or a shorter scan address."
        )
    return min(dots, MOST_DOTS)


def module_mm(layout: Layout, address: str) -> Decimal:
    """The size of a module in millimetres, a whole number of 300 dpi dots; raises LabelTooSmall."""
    return Decimal(module_dots(layout, address) * TICKS_PER_INCH) / DOTS_PER_INCH / TICKS_PER_MM
