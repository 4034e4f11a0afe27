"""Spreadsheet files as people have them, made here so that no file is kept that nobody can read."""

import datetime
import io
import struct
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape

import xlsxwriter

Cell = str | float | int | None
Rows = Sequence[Sequence[Cell]]

PARTS: Rows = (
    ("Qty", "Part", "Length", "Width", "Material", "Grain"),
    (2, "Side", "34 1/2", 23.25, "White oak ply 3/4", "length"),
    (4, "Shelf", 30, 11.5, "White oak ply 3/4", "length"),
)


def csv_file(rows: Rows = PARTS, *, separator: str = ",", encoding: str = "utf-8") -> bytes:
    lines = (separator.join("" if cell is None else str(cell) for cell in row) for row in rows)
    return "\r\n".join(lines).encode(encoding)


def xlsx_file(**sheets: Rows) -> bytes:
    """A workbook with these sheets. `=A1` is a formula without a value, `=A1 -> 5` one with the value 5."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        for name, rows in (sheets or {"Parts": PARTS}).items():
            sheet = book.add_worksheet(name)
            for index, row in enumerate(rows):
                for place, cell in enumerate(row):
                    _write(sheet, index, place, cell)
    return data.getvalue()


def _write(sheet: xlsxwriter.worksheet.Worksheet, index: int, place: int, cell: Cell) -> None:
    if isinstance(cell, str) and cell.startswith("="):
        formula, _, value = cell.partition(" -> ")
        sheet.write_formula(index, place, formula, None, value)
    elif isinstance(cell, str):
        sheet.write_string(index, place, cell)
    elif cell is not None:
        sheet.write_number(index, place, cell)


def dated_xlsx_file() -> bytes:
    """A workbook in which the length 3/4 has become the fourth of March."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Parts")
        sheet.write_row(0, 0, ["Length", "Width"])
        sheet.write_datetime(1, 0, datetime.date(2026, 3, 4), book.add_format({"num_format": "d mmm"}))
        sheet.write_number(1, 1, 5)
    return data.getvalue()


_ODS_CONTENT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content office:version="1.3"
 xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0">
<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"""
_ODS_MANIFEST = """<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">
<manifest:file-entry manifest:full-path="/" manifest:media-type="{media}"/>
<manifest:file-entry manifest:full-path="content.xml"
 manifest:media-type="text/xml">{locked}</manifest:file-entry>
</manifest:manifest>"""
_ODS_MEDIA = "application/vnd.oasis.opendocument.spreadsheet"


def ods_file(*, is_locked: bool = False, **sheets: Rows) -> bytes:
    """An OpenDocument workbook. `=A1` is a formula without a value, `#REF!` one that fails.

    `2026-03-04` is a date.
    """
    tables = "".join(
        f'<table:table table:name="{name}">{"".join(map(_ods_row, rows))}</table:table>'
        for name, rows in (sheets or {"Parts": PARTS}).items()
    )
    locked = '<manifest:encryption-data manifest:checksum="x"/>' if is_locked else ""
    return zipped(
        {
            "mimetype": _ODS_MEDIA,
            "META-INF/manifest.xml": _ODS_MANIFEST.format(media=_ODS_MEDIA, locked=locked),
            "content.xml": _ODS_CONTENT.format(tables=tables),
        }
    )


def _ods_row(row: Sequence[Cell]) -> str:
    return f"<table:table-row>{''.join(map(_ods_cell, row))}</table:table-row>"


def _ods_cell(cell: Cell) -> str:
    if cell is None:
        return "<table:table-cell/>"
    shown = f"<text:p>{escape(str(cell))}</text:p>"
    if not isinstance(cell, str):
        return f'<table:table-cell office:value-type="float" office:value="{cell}">{shown}</table:table-cell>'
    if cell.startswith("="):
        return f'<table:table-cell table:formula="of:{escape(cell)}"/>'
    if cell.startswith("#"):
        return (
            '<table:table-cell table:formula="of:=[.#REF!]" office:value-type="string" office:string-value=""'
            f' calcext:value-type="error">{shown}</table:table-cell>'
        )
    is_date = cell[:2] == "20" and cell.count("-") == 2
    kind = f'"date" office:date-value="{cell}"' if is_date else '"string"'
    return f"<table:table-cell office:value-type={kind}>{shown}</table:table-cell>"


def zipped(members: dict[str, str | bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return data.getvalue()


def changed_member(book: bytes, name: str, old: bytes, new: bytes) -> bytes:
    """A zipped workbook with something replaced in one of its files."""
    with zipfile.ZipFile(io.BytesIO(book)) as packed:
        members: dict[str, str | bytes] = {member: packed.read(member) for member in packed.namelist()}
    content = members[name]
    assert isinstance(content, bytes)
    assert old in content
    return zipped({**members, name: content.replace(old, new)})


# ---- xls: BIFF8 records ([MS-XLS]) in a compound file ([MS-CFB]) ------------------------------------------

_ERRORS = {"#NULL!": 0, "#DIV/0!": 7, "#VALUE!": 15, "#REF!": 23, "#NAME?": 29, "#NUM!": 36, "#N/A": 42}


def xls_file(rows: Rows = PARTS, *, stream: str = "Workbook") -> bytes:
    """An old workbook with one sheet. `#REF!` is an error value, `=#REF!` a formula that fails."""
    start_of_book = _record(0x0809, struct.pack("<HHHHII", 0x0600, 5, 0, 0, 0, 0))
    name = b"Parts"
    sheet_entry = 4 + 6 + 2 + len(name)
    offset = len(start_of_book) + sheet_entry + 4
    entry = _record(0x0085, struct.pack("<IBBBB", offset, 0, 0, len(name), 0) + name)
    cells = b"".join(
        _xls_cell(index, place, cell) for index, row in enumerate(rows) for place, cell in enumerate(row)
    )
    start_of_sheet = _record(0x0809, struct.pack("<HHHHII", 0x0600, 0x10, 0, 0, 0, 0))
    end = _record(0x000A, b"")
    return compound_file(stream, start_of_book + entry + end + start_of_sheet + cells + end)


def _record(kind: int, content: bytes) -> bytes:
    return struct.pack("<HH", kind, len(content)) + content


def _xls_cell(index: int, place: int, cell: Cell) -> bytes:
    if cell is None:
        return b""
    at = struct.pack("<HHH", index, place, 0)
    if isinstance(cell, str) and cell.startswith("=#"):
        result = bytes([2, 0, _ERRORS[cell[1:]], 0, 0, 0, 0xFF, 0xFF])
        return _record(0x0006, at + result + struct.pack("<HIH", 0, 0, 3) + b"\x1c\x17\x00")
    if isinstance(cell, str) and cell in _ERRORS:
        return _record(0x0205, at + bytes([_ERRORS[cell], 1]))
    if isinstance(cell, str):
        return _record(0x0204, at + struct.pack("<HB", len(cell), 1) + cell.encode("utf-16-le"))
    return _record(0x0203, at + struct.pack("<d", cell))


def compound_file(stream: str, content: bytes) -> bytes:
    """A compound file with one stream, in sectors of 512 bytes."""
    content = content.ljust(4096, b"\0")  # a shorter stream would have to be a mini stream
    content += b"\0" * (-len(content) % 512)
    sectors = len(content) // 512
    chain = [*range(1, sectors), 0xFFFFFFFE]
    fat = [*chain, 0xFFFFFFFE, 0xFFFFFFFD]  # the stream, then the directory, then this table
    fat += [0xFFFFFFFF] * (128 - len(fat))
    directory = _entry("Root Entry", 5, child=1) + _entry(stream, 2, start=0, size=len(content)) + bytes(256)
    header = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16) + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6)
    header += bytes(6) + struct.pack("<IIIIIIIII", 0, 1, sectors, 0, 4096, 0xFFFFFFFE, 0, 0xFFFFFFFE, 0)
    header += struct.pack("<I", sectors + 1) + b"\xff" * 432
    return header + content + directory + struct.pack("<128I", *fat)


def _entry(name: str, kind: int, *, child: int = 0xFFFFFFFF, start: int = 0xFFFFFFFE, size: int = 0) -> bytes:
    text = (name + "\0").encode("utf-16-le")
    entry = text.ljust(64, b"\0") + struct.pack("<HBBIII", len(text), kind, 1, 0xFFFFFFFF, 0xFFFFFFFF, child)
    return entry + bytes(36) + struct.pack("<IQ", start, size)
