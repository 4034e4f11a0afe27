"""Jobs kept by hand: parts, layouts and plans as the machine of jobs knows them, without the database."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from shared.measure import exact_text, inches
from tests.books import PieceByHand

KERF, TRIM = inches("1/8"), inches("1/4")


@dataclass
class PartByHand:
    """One line of a parts list."""

    pk: int
    job: str
    quantity: int
    cut: int = 0
    spoiled: int = 0


@dataclass
class SpoiledByHand:
    """Parts that could not be used."""

    pk: int
    part: PartByHand
    count: int
    is_undone: bool = False


@dataclass(frozen=True)
class Drawing:
    """A piece ripped once and the strip crosscut into equal parts, in ticks. `end` is the rest of the strip
    and `side` what lies beside it; below zero where the last cut runs off the edge."""

    length: int
    width: int
    count: int
    long: int
    end: int
    side: int
    trim: int

    @property
    def parts_area(self) -> int:
        return self.count * self.length * self.width

    @property
    def offcuts(self) -> list[tuple[int, int]]:
        rests = [(self.end, self.width), (self.long, self.side)]
        return [(length, width) for length, width in rests if length > 0 and width > 0]

    def tree(self, part_id: str) -> dict[str, Any]:
        """The same in the planning format."""
        strip: list[dict[str, Any]] = [{"size": _size(self.length), "part": part_id}] * self.count
        if self.end > 0:
            strip = [*strip, {"size": _size(self.end), "offcut": True}]
        strips: list[dict[str, Any]] = [{"size": _size(self.width), "cut": "crosscut", "of": strip}]
        if self.side > 0:
            strips.append({"size": _size(self.side), "offcut": True})
        return {"cut": "rip", "of": strips}


def _size(ticks: int) -> str:
    return exact_text(ticks, "in")


def draw(piece: PieceByHand, along: Fraction, across: Fraction, most: int) -> Drawing | None:
    """Parts half `along` the piece long and `across` of it wide, or None where that gives no part."""
    trim = TRIM if piece.kind == "sheet" else 0
    long, wide = piece.length - 2 * trim, piece.width - 2 * trim
    length, width = int(long * along / 2), int(wide * across)
    if length <= 0 or width <= 0 or width > wide:
        return None
    count = min(most, (long + KERF) // (length + KERF))
    end, side = long - count * (length + KERF), wide - width - KERF
    return Drawing(length, width, count, long, end, side, trim) if count else None


@dataclass
class LayoutByHand:
    """One piece to be cut, and how often it gives each part."""

    pk: int
    plan: int
    job: str
    piece: PieceByHand | None
    drawing: Drawing
    gives: dict[int, int]
    state: str = "to cut"
