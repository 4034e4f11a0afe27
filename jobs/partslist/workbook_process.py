"""The process that lays a spreadsheet out, run by `workbook`, which says why.

Its input is the wanted sheet's name as a line of JSON, then the file; its output is the grid as JSON, or the
sentence that refuses the file.
"""

import datetime
import io
import json
import math
import sys
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from itertools import islice

from python_calamine import (
    CalamineError,
    CalamineSheet,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from jobs.partslist.columns import HEADER_WITHIN, header_score
from jobs.partslist.grid import MOST_ROWS, Grid, NotAPartsList, OddCell, tidy, trimmed
from jobs.partslist.unseen import is_locked, unseen_cells
from shared.quoting import quoted

DAMAGED = "It is damaged or no spreadsheet. Open it in a spreadsheet program and save it anew."
LOCKED = "It is protected with a password. Save it without one and upload it again."
MOST_UNPACKED_BYTES = 60 * 1024 * 1024
MOST_MEMORY_BYTES = 1024 * 1024 * 1024
MOST_SHEETS_TRIED = 12

Value = str | int | float | bool | datetime.date | datetime.time | datetime.timedelta
_DATES = (datetime.date, datetime.time, datetime.timedelta)
Cells = list[tuple[str, ...]]
OddCells = dict[tuple[int, int], OddCell]


def read(data: bytes, wanted: str) -> Grid:
    """The grid of the sheet wanted, or of the first with a header we know. Raises NotAPartsList."""
    if data.startswith(b"PK"):
        refuse_zip_bomb(data)
    if is_locked(data):
        raise NotAPartsList(LOCKED)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = _names(book)
        if wanted and wanted not in names:
            raise NotAPartsList(f"It has no sheet called {quoted(wanted)}.")
        name, cells, odd = _best_sheet(book, [wanted] if wanted else names)
    except PasswordError:
        raise NotAPartsList(LOCKED) from None
    except CalamineError:
        raise NotAPartsList(DAMAGED) from None
    odd |= unseen_cells(data, name)
    return Grid(rows=trimmed(_spread(cells, odd)), odd=odd, sheets=tuple(names), sheet=name)


def refuse_zip_bomb(data: bytes) -> None:
    """Raises NotAPartsList where a zipped spreadsheet is broken, locked or unpacks to more than is sane."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            members = packed.infolist()
    except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError, EOFError):
        raise NotAPartsList(DAMAGED) from None
    if sum(member.file_size for member in members) > MOST_UNPACKED_BYTES:
        raise NotAPartsList("It unpacks to more than any parts list holds. Save only the list in a new file.")
    if any(member.flag_bits & 1 for member in members):
        raise NotAPartsList(LOCKED)


def _names(book: CalamineWorkbook) -> list[str]:
    sheets = [sheet for sheet in book.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
    shown = [sheet.name for sheet in sheets if sheet.visible == SheetVisibleEnum.Visible]
    if not shown:
        raise NotAPartsList("It has no sheet to read.")
    return shown


def _best_sheet(book: CalamineWorkbook, names: list[str]) -> tuple[str, Cells, OddCells]:
    read_sheets = []
    for name in names[:MOST_SHEETS_TRIED]:
        cells, odd = _read_sheet(book, name)
        if any(map(header_score, cells[:HEADER_WITHIN])):
            return name, cells, odd
        read_sheets.append((name, cells, odd))
    return next((sheet for sheet in read_sheets if sheet[1]), read_sheets[0])


def _read_sheet(book: CalamineWorkbook, name: str) -> tuple[Cells, OddCells]:
    sheet = book.get_sheet_by_name(name)
    if sheet.start is None:
        return [], {}
    above, before = sheet.start
    # iter_rows gives a row at a time, so that a sheet with one cell in its last row stays small here
    rows: Cells = [()] * above
    odd: OddCells = {}
    for index, values in enumerate(_rows(sheet), start=above):
        for place, value in enumerate(values, start=before):
            if isinstance(value, _DATES):
                odd[index, place] = OddCell("date", text_of(value))
        rows.append(
            ("",) * before + tuple(map(text_of, values)) if any(value != "" for value in values) else ()
        )
    return rows, odd


def _rows(sheet: CalamineSheet) -> Iterator[list[Value]]:
    """The rows from the first that says something, and one more than a parts list may have."""
    assert sheet.start is not None
    said = 0
    for values in islice(sheet.iter_rows(), sheet.start[0], None):
        yield values
        said += any(value != "" for value in values)
        if said > MOST_ROWS + 1:
            return


def text_of(value: Value) -> str:
    """A cell's value as a person would type it: 4.0 is 4, and 0.1 + 0.2 is 0.3.

    A spreadsheet shows and keeps 15 figures, as many as a double holds of any decimal; no more are taken.
    """
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float):
        return _number_text(float(value))
    if isinstance(value, datetime.datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return tidy(str(value))


def _number_text(number: float) -> str:
    if not math.isfinite(number):
        return str(number)
    text = f"{Decimal(f'{number:.15g}'):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _spread(cells: Cells, odd: OddCells) -> Cells:
    """The cells with the odd ones among them, also where calamine saw nothing."""
    rows = [list(row) for row in cells]
    for (index, place), cell in odd.items():
        rows.extend([] for _ in range(index + 1 - len(rows)))
        rows[index].extend("" for _ in range(place + 1 - len(rows[index])))
        rows[index][place] = cell.text
    return [tuple(row) for row in rows]


def main() -> None:
    """Answer with the grid, or with the sentence that refuses the file."""
    _limit_memory()
    try:
        sheet = json.loads(sys.stdin.buffer.readline())
        answer = read(sys.stdin.buffer.read(), sheet).as_json()
    except NotAPartsList as error:
        answer = {"refused": str(error)}
    json.dump(answer, sys.stdout)


def _limit_memory() -> None:
    try:
        import resource  # not on Windows
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    main()
