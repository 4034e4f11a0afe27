"""Text, tables and drawings as reportlab lets them flow over pages."""

import re
from collections.abc import Collection, Sequence
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, Paragraph, Spacer, Table, TableStyle

from jobs.cautions import Caution
from jobs.cutting.wording import Length, Line, Mark, Name, Segment, Size
from jobs.diagrams.inking import ink
from jobs.diagrams.lettering import (
    FRACTION_SIZE,
    FRACTION_SLASH,
    Fraction,
    Phrase,
    clean,
    length_phrase,
    size_phrase,
    text_width,
)
from jobs.diagrams.marks import Numbered, Sketch
from shared.fonts import SANS, SANS_BOLD
from shared.measure import Unit

INK, SOFT = HexColor("#1a1a1a"), HexColor("#555555")
BODY = ParagraphStyle("body", fontName=SANS, fontSize=9, leading=12.5, textColor=INK, bulletFontName=SANS)
STEP = ParagraphStyle(
    "step", BODY, fontSize=10, leading=13.5, leftIndent=32, spaceAfter=5, bulletFontSize=9.5
)
CELL = ParagraphStyle("cell", BODY, fontSize=8.5, leading=11)
CELL_RIGHT = ParagraphStyle("cell-right", CELL, alignment=TA_RIGHT)
SMALL = ParagraphStyle("small", BODY, fontSize=8, leading=10.5, textColor=SOFT)
FACTS = ParagraphStyle("facts", SMALL, alignment=TA_RIGHT)
TITLE = ParagraphStyle("title", BODY, fontName=SANS_BOLD, fontSize=19, leading=24)
HEADING = ParagraphStyle("heading", BODY, fontName=SANS_BOLD, fontSize=12, leading=16)
FIGURE = ParagraphStyle("figure", BODY, fontName=SANS_BOLD, fontSize=14, leading=19)
CAUTION = ParagraphStyle("caution", BODY, fontSize=8.5, leading=11.5, leftIndent=14, spaceBefore=3)
TIMES = "\u00a0×\u00a0"  # a size is not broken over two lines
COLUMN_GAP = 18.0
MUCH = 900.0  # points of steps in one column that still stand beside one another on a page

_FRACTIONS = re.compile(r"(?<![\d/])(?:(\d+) )?(\d+)/(2|4|8|16|32|64)(?![\d/])", re.ASCII)


# ---- words ----


def phrase_of(text: str) -> Phrase:
    """What others have written, with the fractions in it found.

    >>> phrase_of("white oak 3/4, 23 1/2 wide; ash 5/4")
    ('white oak ', Fraction(top='3', bottom='4'), ', ', '23', Fraction(top='1', bottom='2'), ' wide; ash 5/4')
    """
    runs: list[str | Fraction] = []
    at = 0
    for found in _FRACTIONS.finditer(text):
        whole, top, bottom = found.groups()
        if int(top) < int(bottom):
            runs += [text[at : found.start()], whole or "", Fraction(top, bottom)]
            at = found.end()
    return tuple(run for run in [*runs, text[at:]] if run)


def paragraph(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(_markup(phrase_of(text), style.fontSize), style)


def _markup(phrase: Phrase, size: float) -> str:
    """A phrase in reportlab's own markup, its fractions set as fractions."""
    return "".join(_fraction(run, size) if isinstance(run, Fraction) else _printable(run) for run in phrase)


def _printable(text: str) -> str:
    # Unlike ``clean``, a space at either end stays: it parts this run from the next.
    return escape("".join(sign if sign.isprintable() else " " for sign in text)).replace(" × ", TIMES)


def _fraction(fraction: Fraction, size: float) -> str:
    small = f"{size * FRACTION_SIZE:.1f}"
    return (
        f'<super rise="{size * 0.28:.1f}" size="{small}">{fraction.top}</super>{FRACTION_SLASH}'
        f'<font size="{small}">{fraction.bottom}</font>'
    )


def _segment(segment: Segment, unit: Unit, size: float) -> str:
    match segment:
        case str():
            return escape(segment).replace(" × ", TIMES)
        case Length(ticks):
            return _markup(length_phrase(ticks, unit), size)
        case Size(length, width):
            return _markup(size_phrase(length, width, unit), size)
        case Name(text) | Mark(text):
            return f"<b>{escape(clean(text))}</b>"


# ---- the parts of a page ----


class Drawn(Flowable):
    """A drawing in the flow of a page."""

    def __init__(self, sketch: Sketch) -> None:
        super().__init__()
        self.sketch = sketch

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return self.sketch.width, self.sketch.height

    def draw(self) -> None:
        ink(self.canv, self.sketch)


def headed(heading: str, facts: Sequence[str], width: float) -> Flowable:
    """A heading with a few facts to its right."""
    wide = min(width * 0.6, text_width(clean(heading), HEADING.fontSize, bold=True) + 8)
    row = [paragraph(heading, HEADING), paragraph(" · ".join(filter(None, facts)), FACTS)]
    return Table([row], colWidths=[wide, width - wide], style=TableStyle(BARE))


def steps(lines: Sequence[Line], unit: Unit, width: float) -> list[Flowable]:
    """Steps, each with a box to tick: in two columns, or in one where they fill more than a page."""
    rows = [
        Paragraph(
            "".join(_segment(segment, unit, STEP.fontSize) for segment in line.segments),
            STEP,
            bulletText=f"□ {line.number}",
        )
        for line in lines
    ]
    column = (width - COLUMN_GAP) / 2
    heights = [row.wrap(column, MUCH)[1] + STEP.spaceAfter for row in rows]
    if len(rows) == 1 or sum(heights) > MUCH:
        return list(rows)
    half = next(index for index in range(1, len(rows) + 1) if 2 * sum(heights[:index]) >= sum(heights))
    cells = [[rows[:half], "", rows[half:]]]
    return [Table(cells, colWidths=[column, COLUMN_GAP, column], style=TableStyle([*BARE, *AT_TOP]))]


def numbered(rows: Sequence[Numbered], unit: Unit) -> list[Flowable]:
    """What the numbers on a drawing stand for."""
    said = []
    for row in rows:
        size = _markup(size_phrase(row.length, row.width, unit), SMALL.fontSize)
        count = f"{row.count} × " if row.count > 1 else ""
        said.append(f"<b>{row.number}</b>&nbsp; {count}{escape(row.name)}, {size}")
    return [Paragraph("&nbsp;&nbsp;&nbsp; ".join(said), SMALL), Spacer(0, 5)] if said else []


def cautions(those: Sequence[Caution]) -> list[Flowable]:
    """Cautions, each with its source."""
    return [
        Paragraph(
            f"{_about(caution)}{_markup(phrase_of(caution.text), CAUTION.fontSize)} "
            f'<font size="6.5" color="#555555">[{escape(caution.source)}]</font>',
            CAUTION,
            bulletText="⚠" if caution.level == "careful" else "•",
        )
        for caution in those
    ]


def _about(caution: Caution) -> str:
    # Under its own drawing a caution need not say which sheet it is about.
    about = caution.parts if caution.layout is not None else caution.where
    return f"<b>{_markup(phrase_of(clean(about)), CAUTION.fontSize)}.</b> " if about else ""


# ---- tables ----

Style = list[Any]  # reportlab's commands: name, first cell, last cell, values
BARE: Style = [
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
    ("FONTNAME", (0, 0), (-1, -1), SANS),
]
RULED: Style = [
    ("FONTNAME", (0, 0), (-1, -1), SANS),
    ("LEFTPADDING", (0, 0), (-1, -1), 4),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ("TOPPADDING", (0, 0), (-1, -1), 3),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK),
    ("LINEBELOW", (0, 1), (-1, -1), 0.3, SOFT),
]
FRAMED: Style = [
    ("FONTNAME", (0, 0), (-1, -1), SANS),
    ("BOX", (0, 0), (-1, -1), 0.8, INK),
    ("INNERGRID", (0, 0), (-1, -1), 0.3, SOFT),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
]
AT_TOP: Style = [("VALIGN", (0, 0), (-1, -1), "TOP")]
Side = Literal["left", "right"]
Column = tuple[str, Side]


def table(
    heading: str,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    width: float,
    *,
    sums: Collection[int] = (),
) -> list[Flowable]:
    """A ruled table under its heading; a column that has nothing in any row is left out. `sums` are the rows that
    add up what stands above them: they are bold, under a heavier rule."""
    if not rows:
        return []
    kept = [index for index in range(len(columns)) if any(row[index] for row in rows)]
    titles = [columns[index] for index in kept]
    cells = [[row[index] for index in kept] for row in rows]
    head = [_cell(title, side, is_bold=True) for title, side in titles]
    body = [
        [_cell(text, side, is_bold=place in sums) for text, (_, side) in zip(row, titles, strict=True)]
        for place, row in enumerate(cells)
    ]
    above_sums = [("LINEABOVE", (0, place + 1), (-1, place + 1), 1.2, INK) for place in sums]
    widths = _widths(titles, cells, width, bold=sums)
    ruled = Table([head, *body], colWidths=widths, style=TableStyle([*RULED, *above_sums]), repeatRows=1)
    return [Spacer(0, 14), paragraph(heading, HEADING), Spacer(0, 3), ruled]


def _cell(text: str, side: Side, *, is_bold: bool = False) -> Paragraph:
    style = CELL_RIGHT if side == "right" else CELL
    words = _markup(phrase_of(text), style.fontSize)
    return Paragraph(f"<b>{words}</b>" if is_bold else words, style)


def _widths(
    titles: Sequence[Column], cells: Sequence[Sequence[str]], width: float, *, bold: Collection[int] = ()
) -> list[float]:
    """Each column as wide as its text; where that is too much, the wide ones give way and wrap."""
    size = CELL.fontSize
    natural = [
        10
        + max(
            text_width(title, size, bold=True),
            *(text_width(clean(row[index]), size, bold=place in bold) for place, row in enumerate(cells)),
        )
        for index, (title, _) in enumerate(titles)
    ]
    spare = width - sum(natural)
    if spare >= 0:
        widest = natural.index(max(natural))
        return [wide + (spare if index == widest else 0) for index, wide in enumerate(natural)]
    fair = width / len(natural)
    narrow = sum(wide for wide in natural if wide <= fair)
    wide_ones = sum(wide for wide in natural if wide > fair)
    return [wide if wide <= fair else wide * (width - narrow) / wide_ones for wide in natural]


def figures_table(figures: Sequence[tuple[str, str]], width: float) -> list[Flowable]:
    """The figures a plan is judged by, side by side in a frame."""
    if not figures:
        return []
    row = [[paragraph(large, FIGURE), paragraph(small, SMALL)] for large, small in figures]
    widths = [width / len(row)] * len(row)
    return [Spacer(0, 8), Table([row], colWidths=widths, style=TableStyle(FRAMED))]
