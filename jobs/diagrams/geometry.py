"""From a layout's tree to rectangles on the sheet, in ticks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from jobs.cutting.sawn import BlankTree, Kind, Sawn, Tree, saw_up
from shared.measure import Unit, exact_ticks


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece that is not sawn any further: x along the grain and y across it, from the corner."""

    x: int
    y: int
    length: int
    width: int
    kind: Kind
    key: str = ""
    turned: bool = False

    @property
    def own_size(self) -> tuple[int, int]:
        """The part's size as the parts list has it, which a turned part does not lie in."""
        return (self.width, self.length) if self.turned else (self.length, self.width)


@dataclass(frozen=True, slots=True)
class Flaw:
    """A defect that no part may lie over."""

    x: int
    y: int
    length: int
    width: int


@dataclass(frozen=True, slots=True)
class Layout:
    """One layout with all that is needed to show it. Make it with ``read_layout``."""

    sheet: Sawn
    length: int
    width: int
    kerf: int
    unit: Unit
    names: Mapping[str, str] = field(default_factory=dict)
    trim: int = 0
    is_grained: bool = True
    flaws: tuple[Flaw, ...] = ()

    def name(self, key: str) -> str:
        return self.names.get(key) or key

    def placed(self) -> list[Placed]:
        return [_placed(piece) for piece in self.sheet.leaves()]


def read_layout(
    tree: Tree,
    *,
    length: int,
    width: int,
    kerf: int,
    unit: Unit,
    names: Mapping[str, str] | None = None,
    trim: int = 0,
    is_grained: bool = True,
    defects: Sequence[Mapping[str, Any]] = (),
    blanks: Mapping[str, BlankTree] | None = None,
) -> Layout:
    """A layout of the planning format, ready to be shown.

    length, width, kerf and trim are in ticks; the sizes in ``tree`` and ``defects`` are texts in ``unit``.
    ``names`` are what parts and blanks are called on the drawing. Raises NotALength for a size that is
    none and UnsoundLayoutError where the tree does not fit.
    """
    sheet = _saw_up(tree, length, width, trim, kerf, unit, blanks)
    flaws = tuple(
        Flaw(*(_ticks(defect[key], unit) for key in ("x", "y", "length", "width"))) for defect in defects
    )
    return Layout(sheet, length, width, kerf, unit, dict(names or {}), trim, is_grained, flaws)


def blank_trees(problem: Mapping[str, Any]) -> dict[str, BlankTree]:
    """The blanks of a problem in the planning format, each with its parts' sizes as they lie in it.

    A part whose grain runs across it lies turned in its blank. Raises NotALength for a size that is none.
    """
    unit: Unit = problem["unit"]
    sizes = {}
    for part in problem.get("parts", ()):
        length, width = _ticks(part["length"], unit), _ticks(part["width"], unit)
        sizes[part["id"]] = (width, length) if part.get("grain") == "width" else (length, width)
    return {blank["id"]: BlankTree(blank["tree"], sizes) for blank in problem.get("blanks", ())}


def place(
    tree: Tree,
    *,
    length: int,
    width: int,
    trim: int,
    kerf: int,
    unit: Unit,
    blanks: Mapping[str, BlankTree] | None = None,
) -> list[Placed]:
    """Where every part, blank, offcut and piece of waste of a layout lies.

    length, width, trim and kerf are in ticks. What is left over beside a last piece, up to one kerf, is no
    piece.

    >>> from shared.measure import inches
    >>> tree = {"cut": "rip", "of": [{"size": "23 1/4", "part": "side"}, {"size": "24 5/8", "offcut": True}]}
    >>> sheet = place(tree, length=inches(96), width=inches(48), trim=0, kerf=inches("1/8"), unit="in")
    >>> [(piece.kind, piece.y / inches(1)) for piece in sheet]
    [('part', 0.0), ('offcut', 23.375)]
    """
    return [_placed(piece) for piece in _saw_up(tree, length, width, trim, kerf, unit, blanks).leaves()]


def _saw_up(
    tree: Tree,
    length: int,
    width: int,
    trim: int,
    kerf: int,
    unit: Unit,
    blanks: Mapping[str, BlankTree] | None,
) -> Sawn:
    ticks = partial(_ticks, unit=unit)
    return saw_up(tree, length=length, width=width, kerf=kerf, trim=trim, ticks=ticks, blanks=blanks)


def _ticks(size: Any, unit: Unit) -> int:
    return exact_ticks(str(size), unit)


def _placed(piece: Sawn) -> Placed:
    return Placed(piece.x, piece.y, piece.length, piece.width, piece.kind, piece.key, piece.turned)
