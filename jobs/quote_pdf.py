"""A quote on paper, Letter or A4."""

from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from io import BytesIO
from typing import Literal

from django.utils import timezone
from reportlab.platypus import Flowable, SimpleDocTemplate, Spacer

from jobs.diagrams import flowing
from jobs.diagrams.pdf import MARGIN, PAGES, Page
from jobs.models import Job
from jobs.quoting import Sheet
from shared.fonts import register_fonts
from shared.models import Shop
from shared.money import format_money

Row = tuple[str, ...]


def quote_pdf(
    job: Job, sheet: Sheet, shop: Shop, *, note: str = "", for_client: bool = True, page: Page = "letter"
) -> bytes:
    """The quote as PDF. For the client it has prices only, else cost and markup too."""
    register_fonts()
    width = PAGES[page][0] - 2 * MARGIN
    rows, sums = _rows(sheet, shop, for_client)
    day = timezone.localdate(job.quoted_at) if job.quoted_at else timezone.localdate()
    story: list[Flowable] = [
        flowing.paragraph(shop.name, flowing.SMALL),
        flowing.paragraph(f"Quote {job.number}: {job.title}", flowing.TITLE),
        flowing.paragraph(_under_the_title(job, day), flowing.SMALL),
        *flowing.table("Material and work", _columns(for_client), rows, width, sums=sums),
    ]
    if note:
        story += [Spacer(0, 12), flowing.paragraph(note, flowing.BODY)]
    out = BytesIO()
    SimpleDocTemplate(
        out,
        pagesize=PAGES[page],
        title=f"Quote {job.number}",
        author=shop.name,
        leftMargin=MARGIN - 6,
        rightMargin=MARGIN - 6,
        topMargin=MARGIN,
        bottomMargin=MARGIN,
        invariant=1,
    ).build(story)
    return out.getvalue()


def _under_the_title(job: Job, day: Date) -> str:
    who = f"for {job.client}, " if job.client else ""
    return f"{who}{day.day} {day:%B %Y}"


def _columns(for_client: bool) -> list[tuple[str, Literal["left", "right"]]]:
    inside: list[tuple[str, Literal["left", "right"]]] = [("Cost", "right"), ("Markup", "right")]
    return [("What", "left"), *([] if for_client else inside), ("Price", "right")]


def _rows(sheet: Sheet, shop: Shop, for_client: bool) -> tuple[list[Row], list[int]]:
    """The table's rows, and which of them add up what stands above them."""

    def shown(amount: object) -> str:
        return format_money(amount, shop.currency)  # type: ignore[arg-type]

    def row(what: str, price: object, *inside: object) -> Row:
        middle = () if for_client else tuple(shown(one) for one in inside) or ("", "")
        return (what, *middle, shown(price))

    rows = [row(one.material.name, one.price, one.cost, one.markup) for one in sheet.materials]
    sums = []
    if rows and (sheet.contingency or sheet.typed):
        sums.append(len(rows))
        rows.append(row("Material", sheet.material, sheet.cost, sheet.markup))
    if sheet.contingency:
        rows.append(row("Contingency", sheet.contingency))
    for typed in sheet.typed:
        many = f"{typed.quantity.normalize():f} at {shown(typed.price)}"
        rows.append(row(f"{typed.what}, {many}", typed.amount))
    if sheet.tax:
        sums.append(len(rows))
        rows.append(row("Before tax", sheet.before_tax))
        rows.append(row(f"{sheet.tax_name}, {(100 * sheet.tax_rate).normalize():f} %", sheet.tax))
    return [*rows, row("Total", sheet.total)], [*sums, len(rows)]
