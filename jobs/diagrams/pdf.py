"""The plan on paper for the saw: a summary first, then each layout with its steps and cautions."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from itertools import pairwise
from typing import Any, Literal

from reportlab.lib.pagesizes import A4, letter
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, KeepTogether, PageBreak, PageTemplate, Spacer

from jobs.cautions import DEFER, Caution
from jobs.diagrams import flowing
from jobs.diagrams.cuts import lines_of
from jobs.diagrams.drawing import layout_sketch
from jobs.diagrams.geometry import Layout
from jobs.diagrams.lettering import clean, text_width
from jobs.diagrams.marks import PRINT, Sketch
from shared.fonts import SANS, register_fonts

Page = Literal["letter", "a4"]
PAGES: dict[Page, tuple[float, float]] = {"letter": letter, "a4": A4}
MARGIN, FOOT = 40.0, 56.0
HALF_PAGE = 200.0  # the height of a drawing that leaves room for a second one with its steps
BETWEEN = 24.0


@dataclass(frozen=True, slots=True)
class Figure:
    """One of the figures a plan is judged by: large, and what it counts."""

    large: str
    small: str


@dataclass(frozen=True, slots=True)
class RackRow:
    """A piece from the rack and what it gives; ``value`` stays empty for those who see no prices."""

    piece: str
    what: str
    where: str
    size: str
    gives: str
    leaves: str
    value: str = ""


@dataclass(frozen=True, slots=True)
class BuyRow:
    """What to buy; ``cost`` stays empty for those who see no prices."""

    quantity: str
    what: str
    size: str
    cost: str = ""


@dataclass(frozen=True, slots=True)
class UnplacedRow:
    """Parts that could not be cut, and why."""

    quantity: int
    name: str
    why: str


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One layout: its heading, a few facts beside it, and the row it has in the table of the rack."""

    heading: str
    facts: Sequence[str]
    layout: Layout
    count: int = 1
    rack: RackRow | None = None


def plan_pdf(
    sheets: Sequence[SheetPage],
    *,
    title: str,
    lines: Sequence[str] = (),
    figures: Sequence[Figure] = (),
    buy_list: Sequence[BuyRow] = (),
    unplaced: Sequence[UnplacedRow] = (),
    cautions: Sequence[Caution] = (),
    page: Page = "letter",
) -> bytes:
    """A plan as PDF; ``cautions`` are those of ``cautions_for``, the layouts in the order of ``sheets``.

    The first page answers what to fetch and what to buy. Then come the layouts, two on a page where they fit,
    each kept together with its steps. Drawn in lines only, and the same plan gives the same bytes.
    """
    register_fonts()
    width = PAGES[page][0] - 2 * MARGIN
    story = _summary(sheets, title, [*lines, *_units(sheets)], figures, buy_list, unplaced, width)
    story += _general([caution for caution in cautions if caution.layout is None])
    if sheets:
        story.append(PageBreak())
    blocks = []
    for number, sheet in enumerate(sheets):
        here = [caution for caution in cautions if caution.layout == number]
        blocks.append(_Block(sheet, here, width))
    return _built([*story, *_arranged(blocks, PAGES[page][1] - FOOT - MARGIN)], title, page)


def _summary(
    sheets: Sequence[SheetPage],
    title: str,
    lines: Sequence[str],
    figures: Sequence[Figure],
    buy_list: Sequence[BuyRow],
    unplaced: Sequence[UnplacedRow],
    width: float,
) -> list[Flowable]:
    rack = [sheet.rack for sheet in sheets if sheet.rack]
    return [
        flowing.paragraph(title, flowing.TITLE),
        *[flowing.paragraph(line, flowing.SMALL) for line in lines],
        *flowing.figures_table([(figure.large, figure.small) for figure in figures], width),
        *flowing.table(
            "⚠ Not placed",
            [("Parts", "right"), ("Name", "left"), ("Why", "left")],
            [(str(row.quantity), row.name, row.why) for row in unplaced],
            width,
        ),
        *flowing.table(
            "To buy",
            [("Quantity", "right"), ("What", "left"), ("Size", "right"), ("Cost", "right")],
            [(row.quantity, row.what, row.size, row.cost) for row in buy_list],
            width,
        ),
        *flowing.table(
            "From the rack",
            [
                ("Piece", "left"),
                ("What", "left"),
                ("Where", "left"),
                ("Size", "right"),
                ("Gives", "left"),
                ("Leaves", "right"),
                ("Value", "right"),
            ],
            [(row.piece, row.what, row.where, row.size, row.gives, row.leaves, row.value) for row in rack],
            width,
        ),
    ]


def _units(sheets: Sequence[SheetPage]) -> list[str]:
    if not sheets:
        return []
    unit = "inches" if sheets[0].layout.unit == "in" else "millimetres"
    return [f"Sizes are in {unit}: length with the grain, then width."]


def _general(cautions: Sequence[Caution]) -> list[Flowable]:
    if not cautions:
        return []
    return [Spacer(0, 14), flowing.paragraph("Take care", flowing.HEADING), *flowing.cautions(cautions)]


class _Block:
    """One layout with its steps and cautions, its drawing as wide as the page or half a page high."""

    def __init__(self, sheet: SheetPage, cautions: Sequence[Caution], width: float) -> None:
        self.sheet, self.width, unit = sheet, width, sheet.layout.unit
        alike = [f"cut {sheet.count} alike"] if sheet.count > 1 else []
        self.head = [flowing.headed(sheet.heading, [*alike, *sheet.facts], width), Spacer(0, 4)]
        self.foot = [
            Spacer(0, 4),
            *flowing.steps(lines_of(sheet.layout), unit, width),
            Spacer(0, 3),
            *flowing.cautions(cautions),
            Spacer(0, BETWEEN),
        ]
        self.large = layout_sketch(sheet.layout, replace(PRINT, width=width))
        small = layout_sketch(sheet.layout, replace(PRINT, width=width, tallest=HALF_PAGE))
        # Small only where every name still has room.
        self.small = self.large if small.numbered else small
        self.words = sum(
            flowable.wrap(width, 10_000)[1] + flowable.getSpaceBefore() + flowable.getSpaceAfter()
            for flowable in [*self.head, *self.foot, *self._list(self.large)]
        )

    def _list(self, sketch: Sketch) -> list[Flowable]:
        return flowing.numbered(sketch.numbered, self.sheet.layout.unit)

    def height(self, sketch: Sketch) -> float:
        return self.words + sketch.height

    def with_drawing(self, sketch: Sketch) -> list[Flowable]:
        return [*self.head, flowing.Drawn(sketch), *self._list(sketch), *self.foot]


def _arranged(blocks: Sequence[_Block], page: float) -> list[Flowable]:
    """Blocks on pages: drawn small where that lets another one onto the page, large where it does not."""
    arranged: list[Flowable] = []
    room = page
    for block, following in pairwise([*blocks, None]):
        assert block is not None
        large, small = block.height(block.large), block.height(block.small)
        after = following.height(following.small) if following else 0.0
        if small > room and room < page:
            arranged.append(PageBreak())
            room = page
        makes_room = small + after <= room < large + after
        chosen = block.small if large > room or makes_room else block.large
        arranged.append(KeepTogether(block.with_drawing(chosen)))
        room -= block.height(chosen)
    return arranged


# ---- pages ----


def _built(story: list[Flowable], title: str, page: Page) -> bytes:
    wide, high = PAGES[page]
    file = BytesIO()
    document = BaseDocTemplate(
        file,
        pagesize=(wide, high),
        title=clean(title),
        author="Sawbuck",
        invariant=1,
        initialFontName=SANS,
    )
    room, none = (wide - 2 * MARGIN, high - FOOT - MARGIN), 0
    frame = Frame(MARGIN, FOOT, *room, none, none, none, none, id="page")
    document.addPageTemplates([PageTemplate(frames=[frame])])
    document.build(story, canvasmaker=_footed(clean(title), wide))
    return file.getvalue()


def _footed(title: str, wide: float) -> type[Canvas]:
    """A canvas that writes its footers last, when it knows how many pages there are."""

    class Footed(Canvas):
        def __init__(self, *arguments: Any, **others: Any) -> None:
            super().__init__(*arguments, **others)
            self.pages: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802  reportlab's name
            self.pages.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined]  # reportlab's own way, unknown to its types

        def save(self) -> None:
            pages = self.pages
            for number, state in enumerate(pages, start=1):
                self.__dict__.update(state)
                _footer(self, title, f"page {number} of {len(pages)}", wide)
                super().showPage()
            super().save()

    return Footed


def _footer(canvas: Canvas, title: str, pages: str, wide: float) -> None:
    canvas.setLineWidth(0.4)
    canvas.setStrokeGray(0.4)
    canvas.setDash()
    canvas.line(MARGIN, FOOT - 10, wide - MARGIN, FOOT - 10)
    canvas.setFillGray(0.25)
    canvas.setFont(SANS, 7.5)
    canvas.drawString(MARGIN, FOOT - 20, _shortened(title, wide / 2))
    canvas.drawRightString(wide - MARGIN, FOOT - 20, pages)
    canvas.drawString(MARGIN, FOOT - 30, DEFER)


def _shortened(text: str, widest: float) -> str:
    while text_width(text, 7.5) > widest:
        text = text[:-2] + "…"
    return text
