"""Text with separated cells, from a CSV file or a paste, to a grid."""

import csv
import io
import re
from collections.abc import Iterable, Sequence

from jobs.partslist.columns import header_score
from jobs.partslist.grid import STRAY_SIGN, Grid, NotAPartsList, OddCell, tidy, trimmed

SEPARATORS = ("\t", ";", ",", "|")
# What a spreadsheet takes for the start of a formula in CSV (OWASP, CSV Injection). `writing` puts an
# apostrophe before it, by which spreadsheets themselves mark text, and reading takes that away again.
FORMULA_STARTS = tuple("=+-@＝＋－＠")
TEXT_MARK = "'"

_SEPARATOR_LINE = re.compile(r"sep=([\t;,|])\r?\n?", re.IGNORECASE)
_LINE_END = re.compile(r"\r\n|\r|\n")
_WIDE_GAP = re.compile(r" {2,}")
_ERROR_VALUE = re.compile(r"#(?:REF!|N/A|NAME\?|VALUE!|DIV/0!|NUM!|NULL!|SPILL!|CALC!)|Err:\d{3}")
_ROWS_TRIED = 60


def decode(data: bytes) -> str:
    """The text in a file: UTF-8 or UTF-16 where its first bytes or its zeros say so, else Windows-1252.

    Raises NotAPartsList where the bytes are not text.
    """
    text = _decoded(data)
    if text is None or STRAY_SIGN.search(text):
        raise NotAPartsList(
            "It is not text. Save the list as CSV or as an Excel or OpenDocument spreadsheet."
        )
    return text


def _decoded(data: bytes) -> str | None:
    for encoding in _encodings(data):
        try:
            return data.decode(encoding).removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}")
        except UnicodeDecodeError:
            continue
    return None


def _encodings(data: bytes) -> tuple[str, ...]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ("utf-16",)
    even_zeros, odd_zeros = data[:400:2].count(0), data[1:400:2].count(0)
    if max(even_zeros, odd_zeros) > len(data[:400]) // 10:  # one stray zero makes no UTF-16
        return ("utf-16-le" if odd_zeros > even_zeros else "utf-16-be",)
    return ("utf-8", "cp1252")


def read_text(text: str) -> Grid:
    """The grid in a text whose cells are parted by tabs, semicolons, commas, bars or, failing all, wide gaps.

    Raises NotAPartsList where the text holds no rows or a quotation mark is never closed.
    """
    if STRAY_SIGN.search(text):
        raise NotAPartsList(
            "It holds control characters that no list has. Copy the cells again, or upload the file."
        )
    if said := _SEPARATOR_LINE.match(text):
        rows = _split("\n" + text[said.end() :], said[1])
    else:
        rows = _split(text, best_separator(text))
    return _grid(rows)


def best_separator(text: str) -> str:
    """The separator that makes most sense of the first lines: known column names first, then even rows."""
    start = "\n".join(_LINE_END.split(text)[:_ROWS_TRIED])
    return max((*SEPARATORS, " "), key=lambda separator: _sense(start, separator))


def _sense(start: str, separator: str) -> tuple[int, int]:
    try:
        rows = [[tidy(cell) for cell in cells] for cells in _split(start, separator)]
    except NotAPartsList:
        rows = [[tidy(cell) for cell in cells] for cells in _plainly(start, separator)]
    widths = [len(cells) for cells in rows if len(cells) > 1 or any(cells)]
    usual = max(widths, key=widths.count, default=1)
    # A gap inside a name must not outweigh a separator that parts as many cells.
    parted = widths.count(usual) * (usual - 1) - (separator == " ")
    return max(map(header_score, rows), default=0), parted


def _split(text: str, separator: str) -> list[list[str]]:
    if separator == " ":
        return [_WIDE_GAP.split(line.strip()) for line in _LINE_END.split(text)]
    rows: list[list[str]] = []
    try:
        # strict, or a quotation mark that is never closed would swallow every row after it
        for cells in csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True):
            rows.append(cells)
    except csv.Error:
        return _with_loose_quotes(text, separator, len(rows) + 1)
    return rows


def _with_loose_quotes(text: str, separator: str, row: int) -> list[list[str]]:
    """Rows in which `"` stands for inches or nicknames. Refused where it may also have quoted a separator."""
    rows = _plainly(text, separator)
    widths = [len(cells) for cells in rows if any(map(str.strip, cells))]
    if max(widths) != max(widths, key=widths.count):  # a title above the list is narrower, which does no harm
        raise NotAPartsList(f"Row {row} has a quotation mark that opens a text and does not close it.")
    return rows


def _plainly(text: str, separator: str) -> list[list[str]]:
    return [line.split(separator) for line in _LINE_END.split(text)]


def _grid(rows: Iterable[Sequence[str]]) -> Grid:
    tidied = trimmed([tuple(map(tidy, cells)) for cells in rows])
    odd = {
        (row, column): OddCell("formula" if text.startswith("=") else "error", text)
        for row, cells in enumerate(tidied)
        for column, text in enumerate(cells)
        if text.startswith("=") or is_error_value(text)
    }
    return Grid(rows=tuple(tuple(map(without_mark, cells)) for cells in tidied), odd=odd)


def is_error_value(text: str) -> bool:
    """Whether a spreadsheet shows this where a formula failed: #REF!, #N/A, Err:502."""
    return _ERROR_VALUE.fullmatch(text) is not None


def needs_mark(text: str) -> bool:
    """Whether this text would be taken for a formula, for what one gives, or for a text that was marked."""
    return _is_feared(text) or _is_marked(text)


def without_mark(text: str) -> str:
    return text[1:] if _is_marked(text) else text


def _is_marked(text: str) -> bool:
    return text[:1] == TEXT_MARK and (text[1:2] == TEXT_MARK or _is_feared(text[1:]))


def _is_feared(text: str) -> bool:
    return text.startswith(FORMULA_STARTS) or is_error_value(text)
