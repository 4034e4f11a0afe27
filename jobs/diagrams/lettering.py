"""Text on a drawing: what it says, with fractions to be set as fractions, and how wide it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from reportlab.pdfbase import pdfmetrics

from shared.fonts import SANS, SANS_BOLD, register_fonts
from shared.measure import Unit, split_fraction

FRACTION_SIZE = 0.68
FRACTION_SLASH = "\u2044"


@dataclass(frozen=True, slots=True)
class Fraction:
    """Set small, above and below its slash."""

    top: str
    bottom: str


Phrase = tuple[str | Fraction, ...]


def length_phrase(ticks: int, unit: Unit) -> Phrase:
    """
    >>> from shared.measure import inches
    >>> length_phrase(inches("15 1/4"), "in")
    ('15', Fraction(top='1', bottom='4'))
    """
    whole, top, bottom = split_fraction(ticks, unit)
    parts: list[str | Fraction] = [whole] if whole else []
    return (*parts, Fraction(top, bottom)) if top else tuple(parts)


def size_phrase(length: int, width: int, unit: Unit) -> Phrase:
    return (*length_phrase(length, unit), " × ", *length_phrase(width, unit))


def as_text(phrase: Phrase) -> str:
    """
    >>> as_text(("15", Fraction("1", "4"), " × ", Fraction("3", "4")))
    '15 1/4 × 3/4'
    """
    text = ""
    for run in phrase:
        if isinstance(run, Fraction):
            text += (" " if text[-1:].isdigit() else "") + f"{run.top}/{run.bottom}"
        else:
            text += run
    return text


def clean(text: str) -> str:
    """A name on one line, without the characters that neither XML nor a printer takes."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


@cache
def _fonts() -> None:
    register_fonts()


@lru_cache(maxsize=50_000)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width in the drawing's units. DejaVu Sans is wide, so another typeface on the page needs less."""
    _fonts()
    # A sign the typeface lacks, such as a Chinese one, may be a whole em wide on the page.
    missing = sum(1 for sign in text if ord(sign) > 0x2E7F)
    return float(pdfmetrics.stringWidth(text, SANS_BOLD if bold else SANS, size)) + missing * 0.4 * size


def phrase_width(phrase: Phrase, size: float, *, bold: bool = False) -> float:
    return sum(_run_width(run, size, bold) for run in phrase)


def _run_width(run: str | Fraction, size: float, bold: bool) -> float:
    if isinstance(run, str):
        return text_width(run, size, bold=bold)
    small = size * FRACTION_SIZE
    digits = text_width(run.top + run.bottom, small, bold=bold)
    return digits + text_width(FRACTION_SLASH, size, bold=bold)


def wrapped(text: str, widest: float, size: float, *, lines: int, bold: bool = False) -> Sequence[str] | None:
    """The text broken at spaces into so many lines at most; None where one is wider than ``widest``."""
    broken: list[str] = []
    for word in text.split():
        longer = f"{broken[-1]} {word}" if broken else word
        if broken and text_width(longer, size, bold=bold) <= widest:
            broken[-1] = longer
        else:
            broken.append(word)
    fits = len(broken) <= lines and all(text_width(line, size, bold=bold) <= widest for line in broken)
    return broken if fits else None
