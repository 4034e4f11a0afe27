"""A file or a paste to a grid of text cells."""

from collections.abc import Mapping

from jobs.partslist.grid import MOST_BYTES, Grid, NotAPartsList
from jobs.partslist.separated import decode, read_text
from jobs.partslist.workbook import read_workbook

# How files begin that people take for a list, and what to tell them. (Each format's own specification.)
_ZIP = b"PK\x03\x04"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OTHER_FILES: Mapping[bytes, str] = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"BM": "a picture",
    b"II*\x00": "a picture",
    b"MM\x00*": "a picture",
    b"RIFF": "a picture or sound",
    b"%PDF": "a PDF",
    b"{\\rtf": "a text document",
    b"Rar!": "an archive",
    b"7z\xbc\xaf": "an archive",
    b"\x1f\x8b": "an archive",
    b"MZ": "a program",
    b"\x7fELF": "a program",
}
_WOULD_DO = "Save the list as CSV or as an Excel or OpenDocument spreadsheet."


def refuse_too_large(size: int) -> None:
    """Raises NotAPartsList for a file of so many bytes; ask before reading an upload into memory."""
    if size > MOST_BYTES:
        has, may = size / 1024**2, MOST_BYTES // 1024**2
        raise NotAPartsList(
            f"It has {has:,.1f} MB; a parts list may have {may}. Save only the list in a file."
        )


def read_file(name: str, data: bytes, *, sheet: str = "") -> Grid:
    """The grid in an uploaded file: CSV in any of its dialects, xlsx, ods or xls.

    What the file is, its bytes say and not its name. `sheet` picks one of a workbook's sheets (`Grid.sheets`
    names them); without it the first is taken that has a header we know. Raises NotAPartsList, whose sentence
    names the file.
    """
    try:
        refuse_too_large(len(data))
        return _read(data, sheet)
    except NotAPartsList as error:
        raise NotAPartsList(f"{_shown(name)} can't be read as a parts list. {error}") from None


def read_paste(text: str) -> Grid:
    """The grid in pasted text: cells copied from a spreadsheet, or typed with commas, bars or wide gaps.

    Raises NotAPartsList.
    """
    refuse_too_large(len(text))
    return read_text(text)


def _read(data: bytes, sheet: str) -> Grid:
    if not data.strip():
        raise NotAPartsList("It is empty.")
    if data.startswith((_ZIP, _COMPOUND)):
        return read_workbook(data, sheet)
    for start, what in _OTHER_FILES.items():
        if data.startswith(start) and (len(start) > 2 or b"\x00" in data):
            raise NotAPartsList(f"It is {what}, not a list. {_WOULD_DO}")
    text = decode(data)
    if text.lstrip()[:200].casefold().startswith(("<!doctype html", "<html", "<?xml", "<table", "<svg")):
        raise NotAPartsList(f"It is a web page or an XML file, not a list. {_WOULD_DO}")
    return read_text(text)


def _shown(name: str) -> str:
    plain = " ".join(name.replace("\\", "/").rpartition("/")[2].split())
    return plain[:60] or "The file"
