"""A link as a QR code on the page, for a phone that is held up to the screen."""

from typing import NamedTuple

from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_L

QUIET_ZONE = 4  # modules, by ISO/IEC 18004


class OnScreen(NamedTuple):
    """An SVG's side in modules, quiet zone included, and the path of its dark ones."""

    side: int
    path: str


def on_screen(text: str) -> OnScreen:
    """The text as a QR symbol. Level L: a screen is neither torn nor dusty, and larger modules read better."""
    code = QRCode(error_correction=ERROR_CORRECT_L, border=QUIET_ZONE)
    code.add_data(text)
    matrix = code.get_matrix()
    dark = (
        f"M{column} {row}h1v1h-1z"
        for row, cells in enumerate(matrix)
        for column, is_dark in enumerate(cells)
        if is_dark
    )
    return OnScreen(len(matrix), "".join(dark))
