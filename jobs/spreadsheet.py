"""A table of a page as a file for a spreadsheet."""

import csv
import io
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import xlsxwriter

Table = Sequence[Sequence[Any]]
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def csv_of(table: Table) -> bytes:
    """UTF-8 with the mark by which spreadsheets know it. A text that would be taken for a formula gets an
    apostrophe before it."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows([_plain(cell) for cell in row] for row in table)
    return text.getvalue().encode("utf-8-sig")


def _plain(cell: Any) -> Any:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA_STARTS) else cell


def xlsx_of(table: Table, sheet_name: str) -> bytes:
    """One sheet; the first row is its header. Amounts stay numbers, texts stay texts."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True, "strings_to_formulas": False}) as book:
        sheet = book.add_worksheet(sheet_name)
        bold, amount = book.add_format({"bold": True}), book.add_format({"num_format": "#,##0.00"})
        for row_number, row in enumerate(table):
            for column, cell in enumerate(row):
                if isinstance(cell, Decimal):
                    sheet.write_number(row_number, column, float(cell), amount)
                elif isinstance(cell, date):
                    sheet.write_string(row_number, column, cell.isoformat())
                else:
                    sheet.write_string(row_number, column, str(cell or ""), bold if row_number == 0 else None)
        sheet.freeze_panes(1, 0)
    return data.getvalue()
