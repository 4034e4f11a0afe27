"""What every file and paste becomes first: a grid of text cells, and the cells whose text says too little."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

MOST_BYTES = 5 * 1024 * 1024
MOST_ROWS = 5_000
MOST_COLUMNS = 60
MOST_CELL_CHARACTERS = 2_000
MOST_CHARACTERS = 2_000_000

CellKind = Literal["date", "formula", "error"]


class NotAPartsList(ValueError):  # noqa: N818 - it reads as the sentence it carries
    """This file or paste cannot be read as a parts list; `str(error)` is the sentence for a person."""


@dataclass(frozen=True, slots=True)
class OddCell:
    """A cell that holds no plain value: a date, a formula that gives none, an error value."""

    kind: CellKind
    text: str


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of text cells as a person sees it: `rows[0]` is row 1 of the file.

    `rows` may be ragged. `odd` is keyed by (row, column), both from 0. `sheets` are the names of a workbook's
    sheets and `sheet` the one that was read; both are empty for text.
    """

    rows: tuple[tuple[str, ...], ...]
    odd: Mapping[tuple[int, int], OddCell] = field(default_factory=lambda: MappingProxyType({}))
    sheets: tuple[str, ...] = ()
    sheet: str = ""

    def cell(self, row: int, column: int) -> str:
        """The text of a cell, both counted from 0; empty outside the grid."""
        cells = self.rows[row]
        return cells[column] if column < len(cells) else ""

    @property
    def width(self) -> int:
        return max(map(len, self.rows), default=0)

    def as_json(self) -> dict[str, Any]:
        """Plain lists and texts, to keep a grid between two pages or hand it from one process to another."""
        return {
            "rows": [list(cells) for cells in self.rows],
            "odd": [[row, column, odd.kind, odd.text] for (row, column), odd in self.odd.items()],
            "sheets": list(self.sheets),
            "sheet": self.sheet,
        }

    @classmethod
    def from_json(cls, kept: Any) -> "Grid":
        """The grid that `as_json` made this of. Raises ValueError for all else: pages may send it changed."""
        match kept:
            case {"rows": list(rows), "odd": list(odd), "sheets": list(sheets), "sheet": str(sheet)}:
                cells = trimmed([_texts(row) for row in rows])
                if any(STRAY_SIGN.search(text) for row in cells for text in row):
                    raise ValueError("a text holds a sign that no list has")
                return cls(cells, dict(map(_odd_cell, odd)), _texts(sheets), sheet)
        raise ValueError("this is no grid")


def _texts(kept: Any) -> tuple[str, ...]:
    if not isinstance(kept, list) or not all(isinstance(text, str) for text in kept):
        raise ValueError("this is no list of texts")
    return tuple(kept)


def _odd_cell(kept: Any) -> tuple[tuple[int, int], OddCell]:
    match kept:
        case [int(row), int(column), ("date" | "formula" | "error") as kind, str(text)]:
            return (row, column), OddCell(kind, text)
    raise ValueError("this is no odd cell")


# Signs that no list has; files that do are something else, and XML and the database can't hold all of them.
STRAY_SIGN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def tidy(text: str) -> str:
    """A cell's text with one kind of line end, plain blanks and none of them around it."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n").replace("\N{NO-BREAK SPACE}", " ")
    return STRAY_SIGN.sub(" ", plain).strip()


def trimmed(rows: list[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """The rows without empty cells at their ends and without the blank rows at the bottom.

    Raises NotAPartsList for more rows or columns than a parts list has, or where nothing is left.
    """
    kept = [_without_empty_end(cells) for cells in rows]
    while kept and not kept[-1]:
        kept.pop()
    said = sum(1 for cells in kept if cells)
    if not said:
        raise NotAPartsList("There is nothing in it: no row has any text.")
    if said > MOST_ROWS + 1:
        raise NotAPartsList(
            f"It has {said:,} rows. A parts list may have {MOST_ROWS:,}; split it into several."
        )
    widest = max(map(len, kept))
    if widest > MOST_COLUMNS:
        raise NotAPartsList(
            f"It has {widest:,} columns. A parts list may have {MOST_COLUMNS}; remove those not needed."
        )
    if sum(len(text) for cells in kept for text in cells) > MOST_CHARACTERS:
        raise NotAPartsList("It holds more text than any parts list. Save only the list and upload it again.")
    for number, cells in enumerate(kept, start=1):
        if any(len(text) > MOST_CELL_CHARACTERS for text in cells):
            raise NotAPartsList(f"Row {number} has a cell of more than {MOST_CELL_CHARACTERS:,} characters.")
    return tuple(kept)


def _without_empty_end(cells: tuple[str, ...]) -> tuple[str, ...]:
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return cells[:end]
