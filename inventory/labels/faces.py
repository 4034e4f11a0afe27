"""What a label says, in words and figures, before anything is drawn."""

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

from shared.codes import grouped

Kind = Literal["sheet", "offcut", "board", "place", "part", "goods"]
Grain = Literal["length", "none"]

# ISO/IEC 18004: only these 45 characters keep the code in its alphanumeric mode.
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


@dataclass(frozen=True, slots=True)
class LabelFace:
    """One label's text. length and width are in ticks, 0 where the thing has no size (a place, goods).

    size_text is what people read across the shop ("40 1/2 × 22"), length first; heading is the material, or
    the name of a place, part or goods (whose size_text may say "box of 10"); lines are the small print, the
    most needed first.
    """

    code: str
    address: str
    heading: str
    lines: tuple[str, ...]
    size_text: str
    grain: Grain
    kind: Kind
    length: int
    width: int

    def __post_init__(self) -> None:
        if self.kind not in get_args(Kind):
            raise ValueError(f'There is no label for a "{self.kind}".')
        if not self.address or not set(self.address) <= ALPHANUMERIC:
            raise ValueError(
                f'The scan address "{self.address}" would make the code on the label larger than it need be. '
                "Write it with capitals, digits and $%*+-./: only, such as HTTP://192.168.1.20:8000/S/K7M2Q4."
            )
        if self.length < 0 or self.width < 0:
            raise ValueError("The size on a label can't be below zero.")

    @property
    def code_text(self) -> str:
        return grouped(self.code)

    @property
    def leads_with_size(self) -> bool:
        return self.has_outline and bool(self.size_text)

    @property
    def headline(self) -> str:
        """What people look for: the size of a piece, the name of anything else."""
        return self.size_text if self.leads_with_size else self.heading

    @property
    def second(self) -> str:
        """What stands below the code: whichever of the two is no headline."""
        return self.heading if self.leads_with_size else self.size_text

    @property
    def length_text(self) -> str:
        """The length alone, for the dimension line: what stands before the ×."""
        return self.size_text.partition("×")[0].strip()

    @property
    def has_outline(self) -> bool:
        return self.length > 0 and self.width > 0


def came_from(parent_code: str, on: date) -> str:
    """The line that tells an offcut's story.

    >>> came_from("R3T9AV", date(2026, 10, 12))
    'from R3T-9AV, 12 Oct 2026'
    """
    return f"from {grouped(parent_code)}, {on.day} {on:%b %Y}"
