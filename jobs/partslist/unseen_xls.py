"""The same for xls: cells with an error value, which calamine hands over as empty.

Sections are of [MS-CFB] for the compound file and of [MS-XLS] for the records in it.
"""

import struct
from collections.abc import Iterator
from itertools import islice

from jobs.partslist.grid import OddCell

COMPOUND_FILE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"

_LAST_SECTOR = 0xFFFFFFFA  # whatever is above says that a chain ends (CFB 2.1)
_FILEPASS, _BOUNDSHEET, _BOF, _EOF = 0x002F, 0x0085, 0x0809, 0x000A  # 2.3.1
_FORMULA, _BOOLERR = 0x0006, 0x0205
_ERRORS = {
    0: "#NULL!",
    7: "#DIV/0!",
    15: "#VALUE!",
    23: "#REF!",
    29: "#NAME?",
    36: "#NUM!",
    42: "#N/A",
}  # 2.5.10


def is_locked_xls(data: bytes) -> bool:
    """Whether it holds an encrypted workbook, old (a FILEPASS record) or new (EncryptedPackage)."""
    try:
        streams = _streams(data)
        return "EncryptedPackage" in streams or any(kind == _FILEPASS for kind, _ in _records(_book(streams)))
    except (struct.error, IndexError, KeyError):
        return False


def error_cells(data: bytes, sheet: str) -> Iterator[tuple[tuple[int, int], OddCell]]:
    """The cells of a sheet that hold an error value, by row and column from 0.

    Raises struct.error, IndexError or KeyError where the file is not what it should be.
    """
    book = _book(_streams(data))
    start = {name: offset for offset, name in _sheets(book)}[sheet]
    depth = 0
    for kind, content in _records(book[start:]):
        depth += (kind == _BOF) - (kind == _EOF)  # a chart on the sheet has a begin and an end of its own
        if depth == 0:
            return
        error = _error(kind, content)
        if error is not None:
            index, column = struct.unpack_from("<HH", content)
            yield (index, column), OddCell("error", _ERRORS.get(error, "an error"))


def _error(kind: int, content: bytes) -> int | None:
    """The number of the error in a BoolErr record (2.4.24) or in a formula's value (2.4.127, 2.5.133)."""
    if kind == _BOOLERR and content[7]:
        return content[6]
    if kind == _FORMULA and content[12:14] == b"\xff\xff" and content[6] == 2:
        return content[8]
    return None


def _sheets(book: bytes) -> Iterator[tuple[int, str]]:
    """Where each sheet starts, and its name (2.4.28)."""
    for kind, content in _records(book):
        if kind == _BOUNDSHEET:
            length, is_wide = content[6], content[7] & 1
            text = content[8 : 8 + length * 2].decode("utf-16-le") if is_wide else ""
            yield struct.unpack_from("<I", content)[0], text or content[8 : 8 + length].decode("latin-1")
        elif kind == _EOF:
            return


def _records(book: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at + 4 <= len(book):
        kind, length = struct.unpack_from("<HH", book, at)
        yield kind, book[at + 4 : at + 4 + length]
        at += 4 + length


def _book(streams: dict[str, bytes]) -> bytes:
    return streams["Workbook"] if "Workbook" in streams else streams["Book"]


def _streams(data: bytes) -> dict[str, bytes]:
    """The larger streams of a compound file by name. A workbook is never kept among the small ones."""
    size = 1 << struct.unpack_from("<H", data, 30)[0]  # 2.2
    count, first = struct.unpack_from("<II", data, 44)
    count = min(count, len(data) // size)
    table_sectors = list(struct.unpack_from("<109I", data, 76))
    more = struct.unpack_from("<I", data, 68)[0]
    while more < _LAST_SECTOR and len(table_sectors) < count:
        *sectors, more = struct.unpack_from(f"<{size // 4}I", data, (more + 1) * size)
        table_sectors += sectors
    table: list[int] = []
    for sector in table_sectors[:count]:
        table += struct.unpack_from(f"<{size // 4}I", data, (sector + 1) * size)

    def stream(start: int) -> bytes:
        chain = islice(_chain(table, start), len(table))  # a chain that bites its tail ends here
        return b"".join(data[(sector + 1) * size : (sector + 2) * size] for sector in chain)

    streams = {}
    directory = stream(first)
    for at in range(0, len(directory) - 127, 128):  # 2.6.1
        length, kind = struct.unpack_from("<HB", directory, at + 64)
        start, stream_length = struct.unpack_from("<II", directory, at + 116)
        if kind == 2:
            name = directory[at : at + max(length - 2, 0)].decode("utf-16-le", "replace")
            streams[name] = stream(start)[:stream_length]
    return streams


def _chain(table: list[int], start: int) -> Iterator[int]:
    while start < _LAST_SECTOR:
        yield start
        start = table[start]
