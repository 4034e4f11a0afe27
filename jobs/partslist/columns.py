"""Which column of a parts list is what: by the names the trade uses, else by what stands in them."""

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from jobs.partslist.grid import Grid
from jobs.partslist.words import (
    FIELDS,
    GRAIN_WORDS,
    LENGTH_FIELDS,
    RANKED,
    SAYS_LITTLE,
    UNIT_WORDS,
    Field,
)
from shared.measure import NotALength, Unit, parse_length

TITLES: Mapping[Field, str] = {
    **{name: name.replace("_", " ") for name in FIELDS},
    "name": "part",
    "also": "also of",
    "may_be_glued": "may be glued up",
}
USUAL_SHEETS_MM = {3, 4, 5, 6, 8, 9, 10, 12, 15, 16, 18, 19, 20, 21, 22, 24, 25, 27, 28, 30}
HEADER_WITHIN = 20  # a title, the client and the date may stand above the header, but not a page of text

_WORD = re.compile(r"[^\W_]+|[\"″#]")


@dataclass(frozen=True, slots=True)
class Columns:
    """Which column holds what.

    `at` gives the column, from 0, of each field that was found. `header` are the names as they stand and
    `header_row` their row in the grid, from 0; a list without a header has neither. `units` holds what a name
    like "Length (mm)" says of its own column.
    """

    at: Mapping[Field, int]
    header: tuple[str, ...] = ()
    header_row: int | None = None
    units: Mapping[Field, Unit] = field(default_factory=dict)
    is_guessed: bool = False

    def title(self, name: Field) -> str:
        """What to call a column in a sentence: its own name, else the field's."""
        place = self.at.get(name)
        own = self.header[place] if place is not None and place < len(self.header) else ""
        return " ".join(own.split()) or TITLES[name]

    @property
    def unused(self) -> tuple[str, ...]:
        """The names in the header that stand over a column nobody reads."""
        return tuple(name for place, name in enumerate(self.header) if name and place not in self.at.values())

    @property
    def missing(self) -> str:
        """The sentence that says what is needed and not there; empty where all is there."""
        lacking = [name for name in ("length", "width") if name not in self.at]
        if not lacking:
            return ""
        names = " and one ".join(f'"{name.capitalize()}"' for name in lacking)
        return f"There is no column for the {' or the '.join(lacking)}. Name one {names}, or choose it here."

    def placed(self, by_hand: Mapping[Field, int | None]) -> "Columns":
        """These columns with some set by hand; None takes a field away, and a column is one field's only."""
        fields = {place: name for name, place in by_hand.items() if place is not None and place >= 0}
        kept = {name: place for name, place in self.at.items() if name not in by_hand and place not in fields}
        at = kept | {name: place for place, name in fields.items()}
        units = {name: unit for name in at if name in LENGTH_FIELDS and (unit := self._unit_over(at[name]))}
        return replace(self, at=at, units=units, is_guessed=False)

    def _unit_over(self, place: int) -> Unit | None:
        return _read_name(self.header[place])[1] if place < len(self.header) else None


def recognise(header: Sequence[str]) -> Columns:
    """The columns that the names in a header stand for; case, spaces, points and accents do not matter.

    Where two names say the same, the one the trade uses more is taken, then the one further left.

    >>> recognise(["Qty.", "Part", "Length (mm)", "W", "Colour"]).at
    {'quantity': 0, 'name': 1, 'length': 2, 'width': 3}
    """
    found: dict[Field, tuple[int, int]] = {}
    for place, name in enumerate(header):
        word, _ = _read_name(name)
        if word in RANKED:
            known, rank = RANKED[word]
            found[known] = min(found.get(known, (rank, place)), (rank, place))
    at = {name: found[name][1] for name in FIELDS if name in found}
    units = {name: unit for name in LENGTH_FIELDS if name in at and (unit := _read_name(header[at[name]])[1])}
    return Columns(at=at, header=tuple(header), units=units)


def header_score(header: Sequence[str]) -> int:
    """How surely a row is the header: 0 for none; length and width weigh most."""
    at = recognise(header).at
    if len(at) < 2 or not {"length", "width"} & at.keys():
        return 0
    return len(at) + 10 * len({"length", "width"} & at.keys())


def find_columns(grid: Grid, unit: Unit) -> Columns:
    """The columns of a grid: by its header, looked for in the first rows, else guessed from the cells."""
    rows = grid.rows[:HEADER_WITHIN]
    best = max(range(len(rows)), key=lambda row: header_score(rows[row]), default=0)
    if rows and header_score(rows[best]):
        return _without_running_number(grid, replace(recognise(rows[best]), header_row=best))
    return guess(grid, unit)


def _read_name(name: str) -> tuple[str, Unit | None]:
    """A column's name as one bare word, and the unit it names."""
    plain = unicodedata.normalize("NFKD", name.casefold().replace("″", '"'))
    words = _WORD.findall("".join(sign for sign in plain if not unicodedata.combining(sign)))
    unit = None
    while len(words) > 1 and words[-1] in UNIT_WORDS:  # twice in "length in mm"
        unit = unit or UNIT_WORDS[words[-1]]
        words.pop()
    words = [word for word in words if word not in {'"', "#"}] or words
    telling = [word for word in words if word not in SAYS_LITTLE]
    whole = "".join(words)
    return whole if whole in RANKED or not telling else "".join(telling), unit


def _without_running_number(grid: Grid, columns: Columns) -> Columns:
    # "No." counts pieces in one shop and rows in the next; 1, 2, 3 down the whole list is the second.
    place = columns.at.get("quantity")
    if place is None or _read_name(columns.header[place])[0] not in {"no", "nr"}:
        return columns
    if not _is_running_number(_texts_down(grid, place, below=columns.header_row or 0)):
        return columns
    return replace(columns, at={name: place for name, place in columns.at.items() if name != "quantity"})


def guess(grid: Grid, unit: Unit) -> Columns:
    """The columns of a table without a known header, by what most of their cells say; marked as guessed.

    Length comes before width and width before thickness, as they are said. Of three columns of numbers or
    more, the whole and smaller ones at either end are how many. A first row without a size where all others
    have one is a header in words we don't know.
    """
    down = {place: _texts_down(grid, place) for place in range(grid.width)}
    sizes = [place for place, texts in down.items() if _most(texts, lambda text: _is_length(text, unit))]
    top = next((row for row, cells in enumerate(grid.rows) if len(cells) > 1), 0)
    has_header = bool(sizes) and not any(_is_length(grid.cell(top, place), unit) for place in sizes)
    if has_header:
        down = {place: _texts_down(grid, place, below=top) for place in down}
    others = {place: texts for place, texts in down.items() if place not in sizes}
    at = _guess_numbers(down, sizes, unit) | _guess_words(others)
    columns = Columns(at={name: at[name] for name in FIELDS if name in at}, is_guessed=True)
    return replace(columns, header=grid.rows[top], header_row=top) if has_header else columns


def _guess_numbers(down: Mapping[int, list[str]], sizes: Sequence[int], unit: Unit) -> dict[Field, int]:
    at: dict[Field, int] = {}
    left = [place for place in sizes if not _is_running_number(down[place])]
    counts = [place for place in (*left[:1], *left[-1:]) if _are_counts(down[place], unit)]
    if len(left) >= 3 and counts:
        at["quantity"] = min(counts, key=lambda place: max(map(int, down[place])))
        left.remove(at["quantity"])
    return at | dict(zip(LENGTH_FIELDS, left, strict=False))


def _guess_words(down: Mapping[int, list[str]]) -> dict[Field, int]:
    at: dict[Field, int] = {}
    words = [place for place, texts in down.items() if _most(texts, _has_letters)]
    if ways := [place for place in words if all(text.casefold() in GRAIN_WORDS for text in down[place])]:
        at["grain"] = ways[0]
        words.remove(ways[0])
    words.sort(key=lambda place: -len(set(down[place])))  # names differ from part to part, materials repeat
    name_and_material: tuple[Field, ...] = ("name", "material")
    return at | dict(zip(name_and_material, words, strict=False))


def _texts_down(grid: Grid, place: int, below: int = -1) -> list[str]:
    return [text for row in range(below + 1, len(grid.rows)) if (text := grid.cell(row, place))]


def _most(texts: Sequence[str], says: Callable[[str], bool]) -> bool:
    return bool(texts) and sum(map(says, texts)) > 0.6 * len(texts)


def _has_letters(text: str) -> bool:
    return any(sign.isalpha() for sign in text)


def _is_length(text: str, unit: Unit) -> bool:
    try:
        return parse_length(text, unit) > 0
    except NotALength:
        return False


def _are_counts(texts: Sequence[str], unit: Unit) -> bool:
    if not all(text.isascii() and text.isdigit() and len(text) <= 2 for text in texts):
        return False
    return unit == "in" or not {int(text) for text in texts} <= USUAL_SHEETS_MM


def _is_running_number(texts: Sequence[str]) -> bool:
    return len(texts) >= 3 and list(texts) == [str(number) for number in range(1, len(texts) + 1)]
