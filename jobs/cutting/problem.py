"""What is to be cut, and from what: frozen, in whole numbers of one common measure, checked on birth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

Grain = Literal["length", "width", "any"]
Cut = Literal["rip", "crosscut"]


class ProblemError(ValueError):
    """A problem that makes no sense; the text says what, where and what would do."""


@dataclass(frozen=True, slots=True)
class Defect:
    """A flaw in a piece of stock: x with its length, y across it, from the untrimmed corner."""

    x: int
    y: int
    length: int
    width: int


@dataclass(frozen=True, slots=True)
class Stock:
    """Pieces of one size: to buy (`buy`) or in the rack. No `quantity`: as many as wanted."""

    id: str
    length: int
    width: int
    trim: int = 0
    cost: int = 0
    buy: bool = False
    quantity: int | None = None
    grained: bool = True
    material: str | None = None
    defects: tuple[Defect, ...] = ()

    def __post_init__(self) -> None:
        where = f"stock {self.id!r}"
        if self.length <= 0 or self.width <= 0:
            raise ProblemError(f"{where}: a piece needs a length and a width above zero")
        if self.trim < 0:
            raise ProblemError(f"{where}: a trim below zero takes nothing off; write 0 for no trim")
        if 2 * self.trim >= min(self.length, self.width):
            raise ProblemError(
                f"{where}: the trim on both edges leaves nothing; write less than half its width"
            )
        if self.cost < 0:
            raise ProblemError(f"{where}: a cost below zero; write what it costs or carries, or leave it out")
        if self.quantity is not None and self.quantity < 0:
            raise ProblemError(f"{where}: a quantity below zero; write how many there are")

    @property
    def usable(self) -> tuple[int, int]:
        """Length and width inside the trimmed edges."""
        return self.length - 2 * self.trim, self.width - 2 * self.trim


@dataclass(frozen=True, slots=True)
class Part:
    """A part as drawn; `grain` says how the grain runs on it, `materials` what it may be cut from."""

    id: str
    length: int
    width: int
    quantity: int = 1
    grain: Grain = "any"
    materials: frozenset[str] | None = None

    def __post_init__(self) -> None:
        where = f"part {self.id!r}"
        if self.length <= 0 or self.width <= 0:
            raise ProblemError(f"{where}: a part needs a length and a width above zero")
        if self.quantity < 0:
            raise ProblemError(f"{where}: a quantity below zero; write how many are wanted")


@dataclass(frozen=True, slots=True)
class Side:
    """Parts (by id) or further sides, side by side in this order and one kerf apart."""

    cut: Cut
    of: tuple[str | Side, ...]


def members(tree: str | Side) -> Iterator[str]:
    """The parts of a blank's tree, in order."""
    if isinstance(tree, str):
        yield tree
    else:
        for child in tree.of:
            yield from members(child)


@dataclass(frozen=True, slots=True)
class Blank:
    """Parts that stay side by side so that the figure runs on over them."""

    id: str
    tree: str | Side
    quantity: int = 1
    grain: Grain = "length"

    def __post_init__(self) -> None:
        if self.quantity < 0:
            raise ProblemError(f"blank {self.id!r}: a quantity below zero; write how many are wanted")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to be cut out whole: a part, or a blank with its parts in it."""

    id: str
    is_blank: bool
    length: int
    width: int
    quantity: int
    grain: Grain
    materials: frozenset[str] | None

    def may_be_of(self, stock: Stock) -> bool:
        """Whether the material suits; a material left out on either side suits all."""
        return self.materials is None or stock.material is None or stock.material in self.materials

    def ways(self, stock: Stock) -> tuple[tuple[int, int, bool], ...]:
        """The ways it may lie on this stock: (along x, along y, turned)."""
        straight = (self.length, self.width, False)
        turned = (self.width, self.length, True)
        if stock.grained and self.grain == "length":
            return (straight,)
        if stock.grained and self.grain == "width":
            return (turned,)
        return (straight,) if self.length == self.width else (straight, turned)

    def fits(self, stock: Stock) -> bool:
        """Whether it can be cut from an empty piece of this stock, defects aside."""
        long, wide = stock.usable
        return self.may_be_of(stock) and any(a <= long and b <= wide for a, b, _ in self.ways(stock))


@dataclass(frozen=True, slots=True)
class Keep:
    """When an offcut goes back to the rack, and the share of its area's cost that it carries."""

    length: int
    width: int
    rate: Fraction = Fraction(1)

    def takes(self, length: int, width: int) -> bool:
        """Whether a rectangle is large enough, either way round."""
        big, small = max(self.length, self.width), min(self.length, self.width)
        return max(length, width) >= big and min(length, width) >= small


@dataclass(frozen=True, slots=True)
class Problem:
    """A whole planning problem. Every length is a whole number of `measure`, every cost one of `money`."""

    stock: tuple[Stock, ...]
    parts: tuple[Part, ...]
    blanks: tuple[Blank, ...] = ()
    kerf: int = 0
    stages: int | None = None
    first_cut: Cut | None = None
    keep: Keep | None = None
    unit: str = "in"
    measure: Fraction = Fraction(1)
    money: Fraction = Fraction(1)
    in_fractions: bool = False
    time_limit_s: float = 5.0
    seed: int = 0
    items: tuple[Item, ...] = field(init=False)

    def __post_init__(self) -> None:
        if self.kerf < 0:
            raise ProblemError("kerf: a saw takes no less than nothing; write 0 or the width of its cut")
        if self.stages is not None and self.stages < 1:
            raise ProblemError("stages: at least 1 is needed to cut anything; leave it out for no limit")
        if self.keep is not None and (self.keep.length < 0 or self.keep.width < 0):
            raise ProblemError("keep: the least offcut has a size below zero; write 0 to keep everything")
        if self.keep is not None and not 0 <= self.keep.rate <= 1:
            raise ProblemError("keep: the rate is a share from 0 to 1, such as 0.5")
        _refuse_twins("stock", [row.id for row in self.stock])
        _refuse_twins("parts", [row.id for row in self.parts])
        _refuse_twins("blanks", [row.id for row in self.blanks])
        object.__setattr__(self, "items", tuple(_items(self)))

    def stock_of(self, stock_id: str) -> Stock:
        """The stock with this id."""
        return next(row for row in self.stock if row.id == stock_id)


def _refuse_twins(what: str, ids: list[str]) -> None:
    seen: set[str] = set()
    for one in ids:
        if one in seen:
            raise ProblemError(f"{what}: {one!r} stands there twice; give each its own id")
        seen.add(one)


def _items(problem: Problem) -> Iterator[Item]:
    """Blanks, and the parts that are in none."""
    parts = {part.id: part for part in problem.parts}
    taken: dict[str, str] = {}
    for blank in problem.blanks:
        if blank.id in parts:
            raise ProblemError(f"blank {blank.id!r}: a part has the same id; give the blank its own")
        for name in members(blank.tree):
            _refuse_bad_member(blank, name, parts, taken)
            taken[name] = blank.id
        yield _blank_item(blank, parts, problem.kerf)
    for part in problem.parts:
        if part.id not in taken:
            yield Item(part.id, False, part.length, part.width, part.quantity, part.grain, part.materials)


def _refuse_bad_member(blank: Blank, name: str, parts: dict[str, Part], taken: dict[str, str]) -> None:
    where = f"blank {blank.id!r}"
    if name not in parts:
        raise ProblemError(f"{where}: there is no part {name!r}; list it in parts with quantity 1")
    if name in taken:
        raise ProblemError(f"{where}: part {name!r} is already in blank {taken[name]!r}; use it once")
    if parts[name].quantity not in (1, blank.quantity):
        raise ProblemError(
            f"{where}: part {name!r} has quantity {parts[name].quantity}; a blank's part has 1"
        )


def _blank_item(blank: Blank, parts: dict[str, Part], kerf: int) -> Item:
    length, width = blank_size(blank.tree, parts, kerf)
    within = [parts[name] for name in members(blank.tree)]
    materials: frozenset[str] | None = None
    for part in within:
        if part.materials is not None:
            materials = part.materials if materials is None else materials & part.materials
    # The tree is drawn with the grain along x, so a grained part in it settles how the blank lies.
    grain = blank.grain if all(part.grain == "any" for part in within) else "length"
    return Item(blank.id, True, length, width, blank.quantity, grain, materials)


def blank_size(tree: str | Side, parts: dict[str, Part], kerf: int) -> tuple[int, int]:
    """Length and width of a blank: its parts side by side with one kerf between neighbours."""
    if isinstance(tree, str):
        part = parts[tree]
        return (part.width, part.length) if part.grain == "width" else (part.length, part.width)
    sizes = [blank_size(child, parts, kerf) for child in tree.of]
    kerfs = kerf * (len(sizes) - 1)
    if tree.cut == "crosscut":
        return sum(size[0] for size in sizes) + kerfs, max(size[1] for size in sizes)
    return max(size[0] for size in sizes), sum(size[1] for size in sizes) + kerfs
