"""Rows of a parts list, understood: how many, lengths in ticks, the way of the grain, or what is wrong."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from jobs.partslist.cells import (
    NotUnderstood,
    alternatives,
    one_line,
    parse_grain,
    parse_quantity,
    parse_size,
    parse_yes,
    turned_into_a_date,
)
from jobs.partslist.columns import Columns
from jobs.partslist.grid import Grid, NotAPartsList, OddCell
from jobs.partslist.words import LENGTH_FIELDS, Field, Grain
from shared.measure import NotALength, Unit
from shared.quoting import quoted

MOST_CHARACTERS: Mapping[Field, int] = {
    "name": 80,
    "material": 80,
    "also": 400,
    "edging": 60,
    "match_set": 40,
    "note": 200,
}
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class CellError:
    """What is wrong in one cell. `row` is the one a person sees in the file; `sentence` is ready to show."""

    row: int
    column_name: str
    text: str
    sentence: str


@dataclass(frozen=True, slots=True)
class ReadRow:
    """One row of a parts list. Lengths are in ticks.

    Where something is wrong `errors` says what, and the field itself is None or empty. A thickness the list
    does not give is None too. The grain "default" leaves it to the material. `typed` holds the cells as they
    stand.
    """

    number: int
    quantity: int | None
    name: str
    length: int | None
    width: int | None
    thickness: int | None = None
    material_text: str = ""
    also_texts: tuple[str, ...] = ()
    grain: Grain = "default"
    edging: str = ""
    match_set: str = ""
    may_be_glued: bool = False
    note: str = ""
    errors: tuple[CellError, ...] = ()
    typed: Mapping[Field, str] = field(default_factory=dict, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row that is no part, such as a total or a heading, and the sentence that says so."""

    row: int
    sentence: str


@dataclass(frozen=True, slots=True)
class ReadList:
    """All that was understood of a parts list, and what was left out of it."""

    rows: tuple[ReadRow, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def errors(self) -> tuple[CellError, ...]:
        """Everything wrong, in the order of the file."""
        return tuple(error for row in self.rows for error in row.errors)


def understand(grid: Grid, columns: Columns, unit: Unit) -> ReadList:
    """The parts in a grid. Bare lengths are in `unit` unless their column's name says another.

    Blank rows and repeated headers are skipped; a row with neither length nor width is left out and named. No
    row is dropped for being wrong, and length and width are never swapped. Raises NotAPartsList where a
    column that is needed is missing, or where no row holds a part.
    """
    if columns.missing:
        raise NotAPartsList(columns.missing)
    rows: list[ReadRow] = []
    left_out: list[LeftOut] = []
    for index in _rows_below_header(grid, columns):
        row = _Row(grid, columns, unit, index)
        if row.says("length") or row.says("width"):
            rows.append(row.read(position=len(rows) + 1))
        else:
            left_out.append(LeftOut(row.number, row.why_left_out()))
    if not rows:
        raise NotAPartsList("No row has a length or a width, so there is no part in it.")
    return ReadList(tuple(rows), tuple(left_out))


def _rows_below_header(grid: Grid, columns: Columns) -> Iterator[int]:
    first = 0 if columns.header_row is None else columns.header_row + 1
    header = _without_case(columns.header)
    for index in range(first, len(grid.rows)):
        cells = grid.rows[index]
        if any(cells) and _without_case(cells) != header:
            yield index


def _without_case(cells: tuple[str, ...]) -> list[str]:
    return [text.casefold() for text in cells]


class _Row:
    """One row while it is read; what is wrong is gathered on the way."""

    def __init__(self, grid: Grid, columns: Columns, unit: Unit, index: int) -> None:
        self.columns = columns
        self.unit = unit
        self.number = index + 1
        places = columns.at.items()
        self.typed = {name: grid.cell(index, place) for name, place in places}
        self.odd = {name: grid.odd[index, place] for name, place in places if (index, place) in grid.odd}
        self.errors: list[CellError] = []

    def says(self, name: Field) -> bool:
        return bool(self.typed.get(name))

    def why_left_out(self) -> str:
        said = next((text for text in self.typed.values() if text), "")
        called = f" ({quoted(said)})" if said else ""
        return f"Row {self.number}{called} has neither length nor width: left out."

    def read(self, position: int) -> ReadRow:
        return ReadRow(
            number=self.number,
            quantity=self.take("quantity", parse_quantity, None) if "quantity" in self.columns.at else 1,
            name=self.take("name", one_line, "") or f"Part {position}",
            length=self.size("length"),
            width=self.size("width"),
            thickness=self.size("thickness") if self.says("thickness") else None,
            material_text=self.take("material", one_line, ""),
            also_texts=self.take("also", self.alternatives, ()),
            grain=self.take("grain", parse_grain, "default"),
            edging=self.take("edging", one_line, ""),
            match_set=self.take("match_set", one_line, ""),
            may_be_glued=self.take("may_be_glued", parse_yes, False),
            note=self.take("note", str, ""),
            errors=tuple(self.errors),
            typed=self.typed,
        )

    def size(self, name: Field) -> int | None:
        unit = self.columns.units.get(name, self.unit)
        return self.take(name, lambda text: parse_size(text, unit), None)

    def alternatives(self, text: str) -> tuple[str, ...]:
        names = alternatives(text)
        for name in names:
            _refuse_too_long(name, MOST_CHARACTERS["material"])
        return names

    def take(self, name: Field, read: Callable[[str], Value], otherwise: Value) -> Value:
        """What a cell says, or `otherwise` where that can't be understood; then the error is kept."""
        try:
            return read(self.plain_text(name))
        except (NotUnderstood, NotALength) as error:
            title = self.columns.title(name)
            where = title if len(title) == 1 else title.lower()[:40]
            sentence = f"Row {self.number}, {where}: {error}"
            self.errors.append(CellError(self.number, title, self.typed.get(name, ""), sentence))
            return otherwise

    def plain_text(self, name: Field) -> str:
        text = self.typed.get(name, "")
        odd = self.odd.get(name)
        if odd and (odd.kind != "date" or name in (*LENGTH_FIELDS, "quantity")):
            raise _why_odd(odd)
        if name in MOST_CHARACTERS:
            _refuse_too_long(text, MOST_CHARACTERS[name])
        return text


def _refuse_too_long(text: str, most: int) -> None:
    if len(text) > most:
        raise NotUnderstood(f"{quoted(text)} is too long. Write at most {most} characters.")


def _why_odd(odd: OddCell) -> NotUnderstood:
    if odd.kind == "date":
        return turned_into_a_date(odd.text)
    if odd.kind == "error":
        return NotUnderstood(
            f"the formula gives {odd.text or 'an error'}, not a value. Write the value itself."
        )
    return NotUnderstood(f"{quoted(odd.text)} is a formula, not a value. Write the value itself.")
