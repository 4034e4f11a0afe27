"""Cells in which something stands though calamine hands them over as empty.

A formula that was never reckoned (a program wrote the file, no spreadsheet opened it since) and one that
fails (#REF!) both come as empty cells; a part would lose its grain or its thickness without a word. So the
file is looked at once more for just these.
"""

import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import PurePosixPath
from xml.etree.ElementTree import Element, iterparse

from jobs.partslist.grid import MOST_COLUMNS, MOST_ROWS, OddCell
from jobs.partslist.unseen_xls import COMPOUND_FILE, error_cells, is_locked_xls

Place = tuple[int, int]

_ODS_MANIFEST = "META-INF/manifest.xml"


def is_locked(data: bytes) -> bool:
    """Whether a workbook is encrypted; calamine takes most that are for damaged ones."""
    if data.startswith(COMPOUND_FILE):
        return is_locked_xls(data)
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        manifest = packed.read(_ODS_MANIFEST) if _ODS_MANIFEST in packed.namelist() else b""
    return b"encryption-data" in manifest


def unseen_cells(data: bytes, sheet: str) -> dict[Place, OddCell]:
    """The cells of a sheet that hold a formula without a value or an error value, by row and column from 0.

    A file that can't be looked into this way has none: calamine, which read it, has the last word on it.
    """
    try:
        if data.startswith(COMPOUND_FILE):
            return dict(error_cells(data, sheet))
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if "content.xml" in packed.namelist():
                return dict(_in_ods(packed, sheet))
            return dict(_in_xlsx(packed, sheet))
    except Exception:
        # There are more ways to be broken than names for them, and what calamine refuses never comes here.
        return {}


# ---- Office Open XML (ECMA-376 part 1, 18.3.1) ------------------------------------------------------------


def _in_xlsx(packed: zipfile.ZipFile, sheet: str) -> Iterator[tuple[Place, OddCell]]:
    index = -1
    for row in _ends(packed, _xlsx_path(packed, sheet), "row"):
        index = int(_attribute(row, "r") or index + 2) - 1
        column = -1
        for cell in row:
            column = _column(_attribute(cell, "r")) if _attribute(cell, "r") else column + 1
            if odd := _odd_in_xlsx(cell):
                yield (index, column), odd


def _xlsx_path(packed: zipfile.ZipFile, sheet: str) -> str:
    ids = {
        _attribute(entry, "name"): _attribute(entry, "id")
        for entry in _ends(packed, "xl/workbook.xml", "sheet")
    }
    links = _ends(packed, "xl/_rels/workbook.xml.rels", "Relationship")
    targets = {_attribute(link, "Id"): _attribute(link, "Target") for link in links}
    return str(PurePosixPath("xl") / targets[ids[sheet]]).removeprefix("/")


def _odd_in_xlsx(cell: Element) -> OddCell | None:
    parts = {_name(part): part.text or "" for part in cell}
    if _attribute(cell, "t") == "e":
        return OddCell("error", parts.get("v", ""))
    # <v></v> of type str is a formula whose value is the empty text; without the type it has no value yet
    has_value = bool(parts.get("v")) or ("v" in parts and _attribute(cell, "t") == "str") or "is" in parts
    return OddCell("formula", f"={parts['f']}") if "f" in parts and not has_value else None


def _column(reference: str) -> int:
    """The column of a reference such as AB12, from 0."""
    column = 0
    for letter in re.sub(r"[^A-Z]", "", reference.upper()):
        column = column * 26 + ord(letter) - ord("A") + 1
    return column - 1


# ---- OpenDocument (ISO/IEC 26300-1, 9.1) ------------------------------------------------------------------


def _in_ods(packed: zipfile.ZipFile, sheet: str) -> Iterator[tuple[Place, OddCell]]:
    for table in _ends(packed, "content.xml", "table"):
        if _attribute(table, "name") != sheet:
            continue
        index = 0
        for row in table.iter():
            if _name(row) == "table-row":
                odd = list(_in_ods_row(row))
                times = int(_attribute(row, "number-rows-repeated") or 1)
                for repeated in range(index, index + min(times, MOST_ROWS) if odd else index):
                    yield from (((repeated, column), cell) for column, cell in odd)
                index += times


def _in_ods_row(row: Element) -> Iterator[tuple[int, OddCell]]:
    column = 0
    for cell in row:
        times = int(_attribute(cell, "number-columns-repeated") or 1)
        if odd := _odd_in_ods(cell):
            for place in range(column, column + min(times, MOST_COLUMNS)):
                yield place, odd
        column += times


def _odd_in_ods(cell: Element) -> OddCell | None:
    kinds = {value for name, value in cell.attrib.items() if name.endswith("}value-type")}
    if "error" in kinds:
        return OddCell("error", "".join(cell.itertext()).strip())
    formula = _attribute(cell, "formula")
    return OddCell("formula", "=" + formula.partition("=")[2]) if formula and not kinds else None


# ---- XML --------------------------------------------------------------------------------------------------


def _ends(packed: zipfile.ZipFile, path: str, name: str) -> Iterator[Element]:
    """Each element of a name when it is complete; emptied afterwards, so that a large sheet stays small."""
    with packed.open(path) as xml:
        for _, element in iterparse(xml):
            if _name(element) == name:
                yield element
                element.clear()


def _name(element: Element) -> str:
    return element.tag.rpartition("}")[2]


def _attribute(element: Element, name: str) -> str:
    """An attribute whatever its namespace's prefix; empty where there is none."""
    return next((value for key, value in element.attrib.items() if key.rpartition("}")[2] == name), "")
