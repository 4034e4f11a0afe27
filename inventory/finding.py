"""“Find me a piece at least this by this of this material”: nearest fit first, with what each would leave."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import F

from inventory.models import Material, Piece
from shared.models import Shop

MOST = 12
Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Fit:
    """A free piece that is large enough, and what would be left of it, largest first, in ticks."""

    piece: Piece
    leaves: Sequence[Size]
    is_turned: bool  # the part lies across the piece's grain


def nearest_fits(
    *, material: Material, length: int, width: int, with_grain: bool, shop: Shop, most: int = MOST
) -> list[Fit]:
    """Free pieces on the rack that give one part of this size, the smallest first, then along the walk."""
    found = Piece.objects.free().of(material).at_least(length, width, with_grain=with_grain)
    nearest = found.with_all_shown().order_by(F("length") * F("width"), "place__walk_order", "code")
    return [_fit(piece, length, width, shop, with_grain=with_grain) for piece in nearest[:most]]


def largest(material: Material) -> Piece | None:
    """The largest free piece of a material, for when none is large enough."""
    by_area = (F("length") * F("width")).desc()
    return Piece.objects.free().of(material).with_all_shown().order_by(by_area, "code").first()


def _fit(piece: Piece, length: int, width: int, shop: Shop, *, with_grain: bool) -> Fit:
    """As asked where that fits; turned only where it doesn't, for the grain should lie as on the list."""
    is_turned = not (length <= piece.length and width <= piece.width)
    part = (width, length) if is_turned else (length, width)
    left = leaves((piece.length, piece.width), part, shop.kerf)
    worth_keeping = [size for size in left if size[0] >= shop.keep_length and size[1] >= shop.keep_width]
    return Fit(piece, worth_keeping, is_turned and piece.material.is_grained)


def leaves(piece: Size, part: Size, kerf: int) -> list[Size]:
    """What is left when one part is sawn from a corner: ripped or crosscut first, whichever leaves the
    larger piece. Largest first; ticks, length before width.

    >>> leaves((100, 50), (40, 20), 1)
    [(100, 29), (59, 20)]
    """
    (length, width), (part_length, part_width) = piece, part
    beside, beyond = width - part_width - kerf, length - part_length - kerf
    ripped_first = [(length, beside), (beyond, part_width)]
    crosscut_first = [(beyond, width), (part_length, beside)]
    ways = [_largest_first(way) for way in (ripped_first, crosscut_first)]
    return max(ways, key=lambda way: [size[0] * size[1] for size in way])


def _largest_first(sizes: list[Size]) -> list[Size]:
    real = [size for size in sizes if min(size) > 0]
    return sorted(real, key=lambda size: size[0] * size[1], reverse=True)
