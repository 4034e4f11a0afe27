"""The scan code: an address as a QR symbol (ISO/IEC 18004), in runs of dark modules to draw as rectangles."""

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cache, lru_cache
from typing import Literal, NamedTuple, get_args

from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_M, ERROR_CORRECT_Q

from inventory.labels.layouts import Layout
from shared.measure import TICKS_PER_INCH, TICKS_PER_MM

# Dots an inch: office printers have 300 or a multiple of it, label printers 203 or 300.
Dpi = Literal[203, 300]
DPI: tuple[Dpi, ...] = get_args(Dpi)
OFFICE_DPI: Dpi = 300

Level = Literal["H", "Q", "M"]
# How much of a symbol may be spoiled and is still worked out: about 30, 25 and 15 %. With stains on 5 % of a
# symbol's data 99 in 100 are read at H, 18 to 50 at M; a poor camera has to come an eighth nearer, for the
# modules are smaller (tests/bench/README.md).
LEVELS: dict[Level, int] = {"H": ERROR_CORRECT_H, "Q": ERROR_CORRECT_Q, "M": ERROR_CORRECT_M}

QUIET_ZONE = 4
LEAST_MODULE = TICKS_PER_MM // 2  # what a phone still reads from a scuffed label
MOST_MODULE = round(Decimal("1.36") * TICKS_PER_MM)  # read at arm's length, and no larger, to save ink
# Between the frame and the quiet zone, for the second line of a board's frame.
FRAME_ROOM = round(Decimal("0.7") * TICKS_PER_MM)
# One of the standard's eight masks, named inside the symbol. Weighing them all takes five times as long, and
# of 2,000 spoiled images 819 were read with this one, 835 with the one weighed: chance (tests/bench/label_masks.py).
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


class QrSize(NamedTuple):
    """How a layout's labels carry an address: correction level, version, and a module's side in dots."""

    level: Level
    version: int
    dots: int
    dpi: Dpi

    @property
    def side_modules(self) -> int:
        """Modules along a side, quiet zone included."""
        return 17 + 4 * self.version + 2 * QUIET_ZONE

    @property
    def module_points(self) -> float:
        return self.dots * 72 / self.dpi

    @property
    def module_mm(self) -> Decimal:
        return Decimal(self.dots * TICKS_PER_INCH) / self.dpi / TICKS_PER_MM


def symbol(address: str, level: Level) -> Symbol:
    """The address as a QR symbol of that level, in the smallest version that holds it."""
    matrix = _encode(address, level, smallest_version(len(address), level)).get_matrix()
    return Symbol(len(matrix), tuple(run for row, cells in enumerate(matrix) for run in _runs(row, cells)))


def _encode(address: str, level: Level, version: int | None) -> QRCode:
    code = QRCode(version=version, error_correction=LEVELS[level], border=0, mask_pattern=MASK)
    code.add_data(address, optimize=0)
    code.make(fit=version is None)
    return code


@cache
def smallest_version(characters: int, level: Level) -> int:
    """The smallest version that holds so many alphanumeric characters; the same for all labels of a shop.

    >>> [smallest_version(33, level) for level in LEVELS]
    [3, 3, 2]
    """
    return int(_encode("A" * characters, level, None).version)


def _runs(row: int, cells: list[bool]) -> Iterator[Run]:
    line = bytes(cells)
    for dark in _DARK.finditer(line):
        yield Run(dark.start(), row, dark.end() - dark.start())


@lru_cache(maxsize=256)
def size_on(layout: Layout, characters: int, dpi: Dpi = OFFICE_DPI) -> QrSize:
    """The code for an address of so many characters on this layout's labels.

    The highest level whose modules are half a millimetre or more, as large as the face's height and rather
    less than half its width allow: the words beside it need the rest. Raises LabelTooSmall where even level
    M comes out smaller.
    """
    width, height = (size - 2 * FRAME_ROOM for size in layout.face_size)
    usual, at_most = min(height, width * 42 // 100), min(height, width // 2)
    for room in (usual, at_most):
        for level in LEVELS:
            size = QrSize(level, smallest_version(characters, level), 0, dpi)
            dots = min(room, MOST_MODULE * size.side_modules) * dpi // (size.side_modules * TICKS_PER_INCH)
            if dots >= fewest_dots(dpi):
                return size._replace(dots=dots)
    raise _too_small(layout, size._replace(dots=fewest_dots(dpi)), characters)


def fewest_dots(dpi: Dpi) -> int:
    """The dots of the smallest module that is printed.

    >>> fewest_dots(203), fewest_dots(300)
    (4, 6)
    """
    return -(-LEAST_MODULE * dpi // TICKS_PER_INCH)


def _too_small(layout: Layout, least: QrSize, characters: int) -> LabelTooSmall:
    return LabelTooSmall(
        f"{layout.name}: too small for the code with this address of {characters} characters, which "
        f"needs {least.side_modules * least.module_mm:.1f} mm. Choose a larger label or a shorter scan address."
    )


def module_mm(layout: Layout, address: str, dpi: Dpi = OFFICE_DPI) -> Decimal:
    """The size of a module in millimetres, a whole number of the printer's dots; raises LabelTooSmall."""
    return size_on(layout, len(address), dpi).module_mm
