"""What a drawing is made of, before anyone decides whether it goes to a screen or to paper.

x goes right and y down from the upper left corner, in the units of the paper: pixels or points.
"""

from dataclasses import dataclass
from typing import Literal

from jobs.diagrams.lettering import Phrase
from shared.measure import mm

Look = Literal[
    "sheet",
    "part",
    "offcut",
    "offcut-hatch",
    "waste",
    "waste-dots",
    "defect",
    "grain",
    "grain-arrow",
    "dimension",
    "dimension-text",
    "part-name",
    "part-size",
    "name-box",
    "leader",
]


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float
    look: Look

    @property
    def is_fine(self) -> bool:
        """So thin that a full line on both sides would fill it."""
        return min(self.width, self.height) < 7


@dataclass(frozen=True, slots=True)
class Line:
    """A line through two points or more."""

    points: tuple[tuple[float, float], ...]
    look: Look


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    radius: float
    look: Look


@dataclass(frozen=True, slots=True)
class Stroke:
    """One line of grain: a wave of two halves from x, y, each ``run`` long and bent by ``bend``."""

    x: float
    y: float
    run: float
    bend: float


@dataclass(frozen=True, slots=True)
class Grain:
    """The strokes on one piece; ``is_upright`` where the grain runs up and down the drawing."""

    strokes: tuple[Stroke, ...]
    is_upright: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text around x, on the baseline y; ``is_upright`` reads from below, turned about x, y."""

    x: float
    y: float
    phrase: Phrase
    size: float
    look: Look
    anchor: Literal["start", "middle", "end"] = "middle"
    is_bold: bool = False
    is_upright: bool = False


Mark = Box | Line | Dot | Grain | Text


@dataclass(frozen=True, slots=True)
class Numbered:
    """A part too small for its name: the number it has on the drawing, and its row in the list below."""

    number: int
    name: str
    length: int
    width: int
    count: int


@dataclass(frozen=True, slots=True)
class Sketch:
    """A finished drawing: its marks from back to front, and what it says in words."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    title: str
    description: str
    numbered: tuple[Numbered, ...] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """The room there is and the size of its lettering."""

    width: float
    tallest: float
    lettering: float
    smallest: float
    grain_spacing: float
    spans: int = mm(1800)  # what fills the width at least: an offcut drawn as wide would pass for a sheet

    def scale_for(self, length: int, width: int, across: float) -> float:
        """Units a tick, so that a piece fits beside ``across`` of margins, and small pieces stay small."""
        return min((self.width - across) / length, self.tallest / width, self.width / self.spans)


CLOSE = mm(600)  # what fills the width where names need the room
DESK = Paper(width=860, tallest=600, lettering=13, smallest=10, grain_spacing=12)
PHONE = Paper(width=344, tallest=480, lettering=12, smallest=9.5, grain_spacing=11, spans=CLOSE)
PIECE = Paper(width=460, tallest=320, lettering=18, smallest=12, grain_spacing=17)
PRINT = Paper(width=540, tallest=320, lettering=8.5, smallest=6.5, grain_spacing=9)
