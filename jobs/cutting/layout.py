"""What a plan is made of: layouts, each a tree of cuts on one piece of stock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from jobs.cutting.problem import Cut

Kind = Literal["part", "blank", "offcut", "waste", "cut"]


@dataclass(frozen=True, slots=True)
class Node:
    """A piece in a layout: sawn further (`cut` into `of`) or a leaf.

    `size` is its extent along its parent's cut, in the problem's measure; the root's is not used.
    """

    kind: Kind
    size: int = 0
    cut: Cut | None = None
    of: tuple[Node, ...] = ()
    id: str = ""
    turned: bool = False

    def leaves(self) -> Iterator[Node]:
        """Its leaves, in order."""
        if self.kind != "cut":
            yield self
        for child in self.of:
            yield from child.leaves()

    def sized(self, size: int) -> Node:
        """The same node with this extent along its parent's cut."""
        return replace(self, size=size)


@dataclass(frozen=True, slots=True)
class Layout:
    """One tree of cuts, done to `count` pieces of one stock."""

    stock: str
    tree: Node
    count: int = 1


@dataclass(frozen=True, slots=True)
class Unplaced:
    """What could not be cut, how many, and why, in words for a person.

    `fits_nowhere` where no plan whatever could cut it.
    """

    id: str
    quantity: int
    why: str
    fits_nowhere: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """An answer. Amounts are in the shop's currency.

    `bought_bound` is proven for every plan that cuts the same parts.
    """

    layouts: tuple[Layout, ...]
    unplaced: tuple[Unplaced, ...] = ()
    bought: Fraction = Fraction(0)
    rack_used: Fraction = Fraction(0)
    kept: Fraction = Fraction(0)
    bought_bound: Fraction = Fraction(0)
    seconds: float = 0.0
    stopped: str = ""

    @property
    def is_optimal(self) -> bool:
        """Whether it is proven that no plan cuts more or buys for less."""
        return self.bought == self.bought_bound and all(row.fits_nowhere for row in self.unplaced)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is: for showing to the person who waits."""

    seconds: float
    bought: Fraction
    bound: Fraction
    unplaced: int
    layouts: int
