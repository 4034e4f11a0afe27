"""What is drawn for a layout or a piece: rectangles, grain, names and dimension lines."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from jobs.cutting.problem import Cut
from jobs.cutting.sawn import Sawn
from jobs.diagrams import dimensions, naming
from jobs.diagrams.geometry import Flaw, Layout, Placed
from jobs.diagrams.grain import grain
from jobs.diagrams.leaders import leaders
from jobs.diagrams.lettering import clean, length_phrase, size_phrase
from jobs.diagrams.marks import CLOSE, Box, Line, Look, Mark, Numbered, Paper, Sketch
from jobs.diagrams.naming import Area
from shared.measure import format_size

OFFCUT = "Offcut"
GAP = 1.2  # from the drawing to its dimension lines, in letter heights


def layout_sketch(layout: Layout, paper: Paper) -> Sketch:
    """The drawing of a layout, in true proportion, with its dimension lines outside.

    A small piece is drawn small, unless a name then had no room.
    """
    sketch = _LayoutSketch(layout, paper).sketch()
    if sketch.numbered and paper.spans > CLOSE:
        return _LayoutSketch(layout, replace(paper, spans=CLOSE)).sketch()
    return sketch


@dataclass(frozen=True, slots=True)
class _Scale:
    left: float
    top: float
    per_tick: float

    def area(self, piece: Placed | Flaw) -> Area:
        return Area(
            self.left + piece.x * self.per_tick,
            self.top + piece.y * self.per_tick,
            piece.length * self.per_tick,
            piece.width * self.per_tick,
        )


@dataclass(slots=True)
class _Names:
    """The names on a drawing, and the numbers of the pieces that have no room for theirs."""

    marks: list[Mark] = field(default_factory=list)
    numbers: dict[tuple[str, int, int], int] = field(default_factory=dict)
    counts: Counter[tuple[str, int, int]] = field(default_factory=Counter)
    unreached: dict[int, list[Area]] = field(default_factory=dict)

    def rows(self) -> tuple[Numbered, ...]:
        return tuple(Numbered(number, *key, self.counts[key]) for key, number in self.numbers.items())


class _LayoutSketch:
    def __init__(self, layout: Layout, paper: Paper) -> None:
        self.layout, self.paper = layout, paper
        self.letter = paper.lettering
        self.scale, self.right = _fitted(layout, paper)
        self.whole = self.scale.area(Flaw(0, 0, layout.length, layout.width))

    def sketch(self) -> Sketch:
        placed = self.layout.placed()
        names = self._names(placed)
        limits = (self.whole.x + 6, self.whole.x + self.whole.width - 6)
        bottom = self.whole.y + self.whole.height
        marks = self._pieces(placed)
        if names.unreached:
            marks += leaders(names.unreached, bottom, limits, self.paper)
            bottom += 2.2 * self.paper.smallest
        below, bottom = self._below(bottom)
        marks += [*names.marks, *self._overall(), *self._strips(), *below]
        width = self.whole.x + self.whole.width + self.right
        return Sketch(
            width, bottom, tuple(marks), self._title(), _in_words(self.layout, placed), names.rows()
        )

    # ---- the pieces ----

    def _pieces(self, placed: Sequence[Placed]) -> list[Mark]:
        whole = self.whole
        marks: list[Mark] = [Box(whole.x, whole.y, whole.width, whole.height, "sheet")]
        # Rest first: the solid line of a part then covers the dashed one of its neighbour.
        for piece in sorted(placed, key=lambda piece: piece.kind in ("part", "blank")):
            marks += self._piece(piece, self.scale.area(piece))
        for flaw in self.layout.flaws:
            marks += crossed(self.scale.area(flaw))
        return marks

    def _piece(self, piece: Placed, area: Area) -> list[Mark]:
        if piece.kind == "offcut":
            return [_box(area, "offcut"), _box(area, "offcut-hatch")]
        if piece.kind == "waste":
            return [_box(area, "waste"), _box(area, "waste-dots")]
        if not self.layout.is_grained:
            return [_box(area, "part")]
        seed = f"{piece.x} {piece.y} {piece.length} {piece.width}"
        strokes = grain(area.x, area.y, area.width, area.height, seed=seed, spacing=self.paper.grain_spacing)
        return [_box(area, "part"), strokes] if strokes.strokes else [_box(area, "part")]

    # ---- their names ----

    def _names(self, placed: Sequence[Placed]) -> _Names:
        names = _Names()
        for piece in placed:
            if piece.kind != "waste":
                self._name(piece, names)
        return names

    def _name(self, piece: Placed, names: _Names) -> None:
        area, size = self.scale.area(piece), piece.own_size
        name = OFFCUT if piece.kind == "offcut" else clean(self.layout.name(piece.key))
        lettered = naming.name_and_size(area, name, size_phrase(*size, self.layout.unit), self.paper)
        if lettered is None:
            key = (name, *size)
            number = names.numbers.setdefault(key, len(names.numbers) + 1)
            names.counts[key] += 1
            lettered = naming.number(area, str(number), self.paper)
            if lettered is None:
                names.unreached.setdefault(number, []).append(area)
        names.marks += lettered or []

    # ---- the dimension lines ----

    def _overall(self) -> list[Mark]:
        whole, unit = self.whole, self.layout.unit
        top = dimensions.Span(whole.x, whole.x + whole.width, length_phrase(self.layout.length, unit))
        side = dimensions.Span(whole.y, whole.y + whole.height, length_phrase(self.layout.width, unit))
        gap = GAP * self.letter
        return [
            *dimensions.across(top, whole.y - gap, self.letter),
            *dimensions.down(side, whole.x - gap, self.letter, beside="left"),
        ]

    def _strips(self) -> list[Mark]:
        at = self.whole.x + self.whole.width + GAP * self.letter
        beside = dimensions.apart(_strip_spans(self.layout, self.scale), self.letter)
        return [mark for span in beside for mark in dimensions.down(span, at, self.letter)]

    def _below(self, bottom: float) -> tuple[list[Mark], float]:
        pieces = _dimensioned(self.layout.sheet, "crosscut")
        spans = dimensions.spans(pieces, "crosscut", self.layout.unit, self.scale.left, self.scale.per_tick)
        row = dimensions.fitting(spans, self.letter)
        if not row:
            return [], bottom + 6
        at = bottom + GAP * self.letter
        return [
            mark for span in row for mark in dimensions.across(span, at, self.letter)
        ], at + 0.9 * self.letter

    # ---- in words ----

    def _title(self) -> str:
        unit = self.layout.unit
        return f"Cutting layout, {format_size(self.layout.length, self.layout.width, unit)} {unit}"


def _fitted(layout: Layout, paper: Paper) -> tuple[_Scale, float]:
    """The scale that leaves room for dimensions around the drawing, and the room to its right."""
    letter = paper.lettering
    left = right = 2 * GAP * letter
    top = 2.1 * letter
    # The room for sizes at the sides depends on the scale, and the scale on that room: twice is enough.
    for _ in range(2):
        scale = _Scale(left, top, paper.scale_for(layout.length, layout.width, left + right))
        length = dimensions.Span(0, layout.length * scale.per_tick, length_phrase(layout.length, layout.unit))
        width = dimensions.Span(0, layout.width * scale.per_tick, length_phrase(layout.width, layout.unit))
        overhang = max(0.0, dimensions.needed_across(length, letter) - length.end) / 2
        top = letter * (2.9 if overhang else 2.1)
        left = max(dimensions.room_beside([width], letter), overhang)
        strips = _strip_spans(layout, scale)
        right = max(dimensions.room_beside(strips, letter) if strips else 0.8 * letter, overhang)
    return replace(scale, left=left, top=top), right


def _strip_spans(layout: Layout, scale: _Scale) -> list[dimensions.Span]:
    return dimensions.spans(_dimensioned(layout.sheet, "rip"), "rip", layout.unit, scale.top, scale.per_tick)


def _dimensioned(sheet: Sawn, cut: Cut) -> tuple[Sawn, ...]:
    """The pieces whose sizes stand outside: those of the first cuts, or of the piece at that edge."""
    if sheet.cut == cut:
        return sheet.of
    last = sheet.of[-1] if sheet.of else sheet
    return last.of if last.cut == cut else ()


def _box(area: Area, look: Look) -> Box:
    return Box(area.x, area.y, area.width, area.height, look)


def crossed(area: Area) -> list[Mark]:
    """A defect: framed and crossed out."""
    right, bottom = area.x + area.width, area.y + area.height
    return [
        _box(area, "defect"),
        Line(((area.x, area.y), (right, bottom)), "defect"),
        Line(((area.x, bottom), (right, area.y)), "defect"),
    ]


def _in_words(layout: Layout, placed: Sequence[Placed]) -> str:
    """What the drawing shows, for those who do not see it."""
    pieces = Counter((piece.kind, piece.key, piece.own_size) for piece in placed)
    said = []
    for (kind, key, size), count in pieces.items():
        if kind != "waste":
            name = "offcut to keep" if kind == "offcut" else clean(layout.name(key))
            said.append(f"{count} {name}, {format_size(*size, layout.unit)}")
    if any(piece.kind == "waste" for piece in placed):
        said.append("the rest is waste")
    return " ".join(["; ".join(said) + ".", defects_in_words(len(layout.flaws))]).strip()


def defects_in_words(count: int) -> str:
    if count == 0:
        return ""
    return "1 defect is crossed out." if count == 1 else f"{count} defects are crossed out."
