"""Label papers a shop can buy: sheets of labels and rolls, told apart by their dimensions only.

They are data, in layouts.csv: lengths in the row's own unit as published, measured from the paper's top left
corner, pitch from label to label. `reference` names the published row that a test compares with.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from shared.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, format_length

# Common practice, no source: office printers leave about 1/6 in of the paper's edge blank.
UNPRINTABLE_EDGE = round(Decimal("4.3") * TICKS_PER_MM)
# A sheet may lie this much askew in the printer before a frame is cut by the label's edge.
DRIFT = round(Decimal("1.4") * TICKS_PER_MM)

_TICKS = {"in": TICKS_PER_INCH, "mm": TICKS_PER_MM}


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the labels lie on one sheet, or the one label of a roll. Lengths in ticks from the top left."""

    key: str
    paper: str
    paper_width: int
    paper_height: int
    unit: Unit
    label_width: int
    label_height: int
    columns: int
    rows: int
    left_margin: int
    top_margin: int
    pitch_x: int
    pitch_y: int
    reference: str
    source: str

    def __post_init__(self) -> None:
        if min(self.label_width, self.label_height, self.columns, self.rows) <= 0:
            raise ValueError(f"{self.key}: a label needs a size, and a sheet at least one row and column")
        if self.pitch_x < self.label_width or self.pitch_y < self.label_height:
            raise ValueError(f"{self.key}: labels lie over each other: the pitch is less than the label")
        if self.left_margin < 0 or self.top_margin < 0 or self.right_margin < 0 or self.bottom_margin < 0:
            raise ValueError(f"{self.key}: the labels do not lie inside the paper")

    @property
    def count(self) -> int:
        return self.columns * self.rows

    @property
    def is_roll(self) -> bool:
        """One label is the whole page, so the printer finds its edge by itself."""
        return (self.label_width, self.label_height) == (self.paper_width, self.paper_height)

    @property
    def right_margin(self) -> int:
        return self.paper_width - self.left_margin - (self.columns - 1) * self.pitch_x - self.label_width

    @property
    def bottom_margin(self) -> int:
        return self.paper_height - self.top_margin - (self.rows - 1) * self.pitch_y - self.label_height

    @property
    def inset_x(self) -> int:
        """How far print keeps from a label's left and right edge, the same on all labels of the sheet."""
        return self._inset(min(self.left_margin, self.right_margin))

    @property
    def inset_y(self) -> int:
        """How far print keeps from a label's top and bottom edge."""
        return self._inset(min(self.top_margin, self.bottom_margin))

    @property
    def is_turned(self) -> bool:
        """The label is higher than wide, so its face is drawn lying on its side."""
        return self.label_height > self.label_width

    @property
    def face_size(self) -> tuple[int, int]:
        """Width and height that can be printed on, of the face as it is read."""
        across = self.label_width - 2 * self.inset_x
        down = self.label_height - 2 * self.inset_y
        return (down, across) if self.is_turned else (across, down)

    def _inset(self, margin: int) -> int:
        return DRIFT if self.is_roll else max(DRIFT, UNPRINTABLE_EDGE - margin)

    def corner(self, position: int) -> tuple[int, int]:
        """Top left corner of the label at a position, 1 being the first; row by row, left to right."""
        row, column = divmod(position - 1, self.columns)
        return self.left_margin + column * self.pitch_x, self.top_margin + row * self.pitch_y

    @property
    def name(self) -> str:
        """What a person chooses by.

        >>> LAYOUTS["letter-30"].name, LAYOUTS["roll-57x32mm"].name
        ('US Letter, 3 × 10 labels of 2 5/8 × 1 in', 'Roll, labels of 57 × 32 mm')
        """
        size = f"{self._shown(self.label_width)} × {self._shown(self.label_height)} {self.unit}"
        if self.is_roll:
            return f"{self.paper}, labels of {size}"
        return f"{self.paper}, {self.columns} × {self.rows} labels of {size}"

    def _shown(self, ticks: int) -> str:
        # A third of an inch is published as 0.3333; nobody measures a label beyond 0.01 in.
        if self.unit == "in" and ticks % (TICKS_PER_INCH // 64):
            return f"{Decimal(ticks) / TICKS_PER_INCH:.2f}"
        return format_length(ticks, self.unit)


def _read(path: Path) -> Iterator[Layout]:
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            yield _layout(row)


def _layout(row: dict[str, str]) -> Layout:
    unit: Unit = "in" if row["unit"] == "in" else "mm"

    def ticks(column: str) -> int:
        # Published to four decimals, so a third of an inch is no whole number of ticks: the nearest, 25 nm.
        return round(Decimal(row[column]) * _TICKS[unit])

    return Layout(
        key=row["key"],
        paper=row["paper"],
        paper_width=ticks("paper_width"),
        paper_height=ticks("paper_height"),
        unit=unit,
        label_width=ticks("label_width"),
        label_height=ticks("label_height"),
        columns=int(row["columns"]),
        rows=int(row["rows"]),
        left_margin=ticks("left_margin"),
        top_margin=ticks("top_margin"),
        pitch_x=ticks("pitch_x"),
        pitch_y=ticks("pitch_y"),
        reference=row["reference"],
        source=row["source"],
    )


LAYOUTS: dict[str, Layout] = {layout.key: layout for layout in _read(Path(__file__).with_name("layouts.csv"))}
