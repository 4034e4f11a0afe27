"""The typeface on everything Sawbuck prints: DejaVu Sans 2.37, its licence beside it.

A PDF's built-in fonts know no fractions, few accents and no ≥, and a viewer may replace them; this one is
embedded, only the letters used. Measure and draw with the names SANS and SANS_BOLD after register_fonts().
"""

from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

SANS = "DejaVuSans"
SANS_BOLD = "DejaVuSans-Bold"


def register_fonts() -> None:
    """Make SANS and SANS_BOLD known to reportlab; call it before a canvas is made, as often as you like.

    Pass initialFontName=SANS to the canvas, or it lists an unembedded font that it never uses.
    """
    known = pdfmetrics.getRegisteredFontNames()
    for name in (SANS, SANS_BOLD):
        if name not in known:
            pdfmetrics.registerFont(TTFont(name, Path(__file__).with_name(f"{name}.ttf")))
    pdfmetrics.registerFontFamily(SANS, normal=SANS, bold=SANS_BOLD, italic=SANS, boldItalic=SANS_BOLD)
