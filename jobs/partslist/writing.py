"""Exporting a parts list so that reading it gives the same rows."""

import csv
import io
from collections.abc import Callable, Mapping, Sequence

import xlsxwriter

from jobs.partslist.cells import alternatives_text
from jobs.partslist.grid import tidy
from jobs.partslist.rows import ReadRow
from jobs.partslist.separated import TEXT_MARK, needs_mark
from jobs.partslist.words import LENGTH_FIELDS, Field
from shared.measure import Unit, typed_text

_TITLES: Mapping[Field, str] = {
    "quantity": "Qty",
    "name": "Part",
    "length": "Length",
    "width": "Width",
    "thickness": "Thickness",
    "material": "Material",
    "also": "Also",
    "grain": "Grain",
    "edging": "Edging",
    "match_set": "Match set",
    "may_be_glued": "May be glued up",
    "note": "Note",
}
_ALWAYS: tuple[Field, ...] = ("quantity", "name", "length", "width", "material")


def to_csv(rows: Sequence[ReadRow], unit: Unit) -> bytes:
    """The list as CSV: commas, UTF-8 with the mark by which spreadsheets know it.

    A text that a spreadsheet would take for a formula gets an apostrophe before it, which reading takes away.
    """
    text = io.StringIO(newline="")
    csv.writer(text).writerows([_marked(cell) for cell in cells] for cells in _table(rows, unit))
    return text.getvalue().encode("utf-8-sig")


def to_xlsx(rows: Sequence[ReadRow], unit: Unit) -> bytes:
    """The list as a spreadsheet. All cells are text, so that nothing becomes a date or a formula."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Parts")
        as_text, as_title = book.add_format({"num_format": "@"}), book.add_format({"bold": True})
        sheet.freeze_panes(1, 0)
        for index, cells in enumerate(_table(rows, unit)):
            for place, text in enumerate(cells):
                sheet.write_string(index, place, text, as_text if index else as_title)
    return data.getvalue()


def _marked(text: str) -> str:
    return TEXT_MARK + text if needs_mark(text) else text


def _table(rows: Sequence[ReadRow], unit: Unit) -> list[list[str]]:
    """The header and a line of texts for each row, with the columns that are used."""
    lines = [{name: _said(row, name, unit) for name in _SAYS} for row in rows]
    used = [name for name in _SAYS if name in _ALWAYS or any(line[name] for line in lines)]
    header = [f"{_TITLES[name]} ({unit})" if name in LENGTH_FIELDS else _TITLES[name] for name in used]
    return [header, *([line[name] for name in used] for line in lines)]


def _said(row: ReadRow, name: Field, unit: Unit) -> str:
    """A cell; where it was not understood, as it was typed, so that it can be mended in the export."""
    return tidy(_SAYS[name](row, unit) or row.typed.get(name, ""))


def _size(ticks: int | None, unit: Unit) -> str:
    return typed_text(ticks, unit) if ticks else ""


_SAYS: Mapping[Field, Callable[[ReadRow, Unit], str]] = {
    "quantity": lambda row, _: str(row.quantity or ""),
    "name": lambda row, _: row.name,
    "length": lambda row, unit: _size(row.length, unit),
    "width": lambda row, unit: _size(row.width, unit),
    "thickness": lambda row, unit: _size(row.thickness, unit),
    "material": lambda row, _: row.material_text,
    "also": lambda row, _: alternatives_text(row.also_texts),
    "grain": lambda row, _: "" if row.grain == "default" else row.grain,
    "edging": lambda row, _: row.edging,
    "match_set": lambda row, _: row.match_set,
    "may_be_glued": lambda row, _: "yes" if row.may_be_glued else "",
    "note": lambda row, _: row.note,
}
