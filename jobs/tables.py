"""The tables of a job's cost, a quote and the books as plain rows, for a file. Headers and totals in them."""

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Any

from inventory.books import Balance, Entry
from inventory.models import ClosedPeriod
from jobs.buying import Section
from jobs.comparing import Comparison
from jobs.costing import JobCost
from jobs.quoting import Sheet
from jobs.spending import behind_as_table
from shared.codes import grouped
from shared.measure import format_area, format_size
from shared.models import Shop

Table = list[list[Any]]
NOTHING = Decimal("0.00")


# ---- a job's cost -----------------------------------------------------------------------------------------


def of_differences(cost: JobCost) -> Table:
    """Estimate against actual, by material, and why they differ."""
    rows = [
        [
            row.material.name,
            row.estimate,
            row.actual,
            row.to_come,
            row.difference,
            "; ".join(f"{words} {amount}" for words, amount in row.reasons),
        ]
        for row in cost.differences
    ]
    total = [cost.planned, cost.actual, cost.to_come, cost.difference, ""]
    return [["Material", "Estimated", "Charged", "To come", "Difference", "Why"], *rows, ["All", *total]]


def of_materials(cost: JobCost) -> Table:
    """What was charged, by material."""
    rows = [
        [
            row.name,
            row.pieces,
            row.offcuts_used,
            row.offcuts_left,
            row.stock,
            row.given_back,
            row.goods,
            row.actual,
        ]
        for row in cost.materials
    ]
    counts = ["Pieces used", "Of them offcuts", "Offcuts left"]
    header = ["Material", *counts, "Stock", "Given back", "Goods", "Cost"]
    total = ["All", "", "", "", cost.stock, cost.given_back, cost.goods, cost.actual]
    return [header, *rows, total]


def of_estimate(cost: JobCost) -> Table:
    """What the frozen estimate took for granted."""
    rows = [
        [
            line.material.name,
            line.get_sort_display(),
            grouped(line.piece.code) if line.piece else line.note,
            line.quantity,
            line.unit,
            line.price,
            line.amount,
        ]
        for line in cost.estimate_lines
    ]
    header = ["Material", "How", "Which", "How many", "Unit", "At", "Amount"]
    return [header, *rows, ["All", *[""] * 5, cost.planned]]


def of_purchases(cost: JobCost) -> Table:
    """What is still to buy for a job."""
    rows = [
        [line.material.name, line.still_to_come, line.unit, line.guessed_cost] for line in cost.outstanding
    ]
    return [["Material", "How many", "Unit", "About"], *rows, ["All", "", "", cost.to_buy]]


def of_charges(cost: JobCost) -> Table:
    """Every charge and its movement."""
    return [*behind_as_table(cost.charges), ["All", *[""] * 5, cost.actual]]


OF_A_JOB: dict[str, Callable[[JobCost], Table]] = {
    "differences": of_differences,
    "materials": of_materials,
    "estimate": of_estimate,
    "to-buy": of_purchases,
    "charges": of_charges,
}


# ---- others -----------------------------------------------------------------------------------------------


def of_quote(sheet: Sheet) -> Table:
    """A quote with cost and markup, as its page has it."""
    rows: Table = [[row.material.name, row.cost, row.markup, row.price] for row in sheet.materials]
    if sheet.contingency:
        rows.append(["Contingency", "", "", sheet.contingency])
    rows += [[f"{one.what}, {one.quantity} at {one.price}", "", "", one.amount] for one in sheet.typed]
    if sheet.tax:
        rows.append([sheet.tax_name, "", "", sheet.tax])
    total = ["Total", sheet.cost, sheet.markup, sheet.total]
    return [["What", "Cost", "Markup", "Price"], *rows, total]


def of_comparison(compared: Comparison, shop: Shop) -> Table:
    """Past jobs beside each other, each also at the next one's size."""
    rows = [
        [past.job.number, past.job.title, past.parts, format_area(past.area, shop.unit), past.cost, scaled]
        for past, scaled in compared.rows
    ]
    header = ["Job", "Title", "Parts", "Their area", "Material cost", "At the next one’s size"]
    middle = ["Middle", "", "", format_area(compared.area, shop.unit), "", compared.middle]
    return [header, *rows, middle]


def of_buy_list(sections: Iterable[Section], shop: Shop) -> Table:
    """What is to buy, by supplier."""
    rows: Table = [
        [
            section.supplier.name if section.supplier else "",
            line.material.name,
            line.still_to_come,
            line.unit,
            format_size(line.length, line.width or 0, shop.unit) if line.length else "",
            line.job.number,
            line.price,
            line.guessed_cost,
        ]
        for section in sections
        for line in section.lines
    ]
    header = ["Supplier", "What", "How many", "Unit", "Size", "For", "Price seen", "About"]
    return [header, *rows, ["All", *[""] * 6, sum((row[-1] for row in rows), NOTHING)]]


def of_accounts(balances: Iterable[Balance]) -> Table:
    """What each account was debited and credited."""
    rows: Table = [[one.name, one.debit, one.credit] for one in balances]
    total = ["All", *(sum((row[side] for row in rows), NOTHING) for side in (1, 2))]
    return [["Account", "Debit", "Credit"], *rows, total]


def of_closed(periods: Iterable[ClosedPeriod]) -> Table:
    """Periods that are closed, with what all movements up to then came to."""
    rows = [
        [one.last_day, one.received, one.charged, one.written_off, one.sold, one.on_rack] for one in periods
    ]
    return [["Up to and with", "Received", "Used on jobs", "Written off", "Sold", "On the rack"], *rows]


def of_journal(entries: Iterable[Entry]) -> Table:
    """The journal's lines."""
    rows = [[one.date, one.account, one.debit, one.credit, one.reference] for one in entries]
    return [["Date", "Account", "Debit", "Credit", "Reference"], *rows]
