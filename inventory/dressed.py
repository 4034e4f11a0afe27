"""Dressed softwood: sold by a nominal size, and planed to a smaller one. A 2 × 6 measures 1 1/2 × 5 1/2.

The sizes are those of inventory/data/softwood_sizes.csv (American Softwood Lumber Standard PS 20). Board feet
go by the nominal size: US Navy engineering-aid training text, chapter 6, “board foot”.
"""

from functools import cache

from inventory.builtin import DressedSize, dressed_thicknesses, dressed_widths
from shared.measure import TICKS_PER_INCH, format_length, inches

NEAR = inches("1/4")  # a green 8 is so much over a dry one; no two dressed widths lie nearer than 3/4


class NotDressed(ValueError):  # noqa: N818 - raised and read as "that is not dressed"
    """Softwood is not planed to this; str() of it is a whole sentence."""


def measured_width(width: int) -> int:
    """What a board called so wide measures, in ticks: a 6 is 5 1/2, and 5 1/2 is that.

    No dressed width is a whole inch, so a figure is never both. Raises NotDressed where it is neither.

    >>> measured_width(inches(6)) == measured_width(inches("5 1/2")) == inches("5 1/2")
    True
    """
    if called := next((size for size in _widths() if size.nominal == width), None):
        return called.dry
    if not any(abs(size.dry - width) <= NEAR for size in _widths()):
        near = sorted(
            sorted(_widths(), key=lambda size: abs(size.dry - width))[:2], key=lambda size: size.dry
        )
        known = " and ".join(f"a {size.name} is {format_length(size.dry, 'in')}" for size in near)
        raise NotDressed(f"{format_length(width, 'in')} in is no width of dressed softwood: {known}.")
    return width


def nominal_width(width: int) -> int:
    """What a board that measures so wide is sold as, in ticks: the narrowest size that it can be planed from.

    >>> [nominal_width(inches(width)) // inches(1) for width in ("5 1/2", "7 1/4", "7 1/2", 5)]
    [6, 8, 8, 6]
    """
    wide_enough = (size.nominal for size in _widths() if size.green >= width)
    return next(wide_enough, -(-width // TICKS_PER_INCH) * TICKS_PER_INCH)


def wide_enough(width: int) -> int:
    """What the narrowest dressed board measures that a part so wide can be ripped from, in ticks; the width
    itself where none is so wide.

    >>> wide_enough(inches("5 5/8")) == inches("6 1/2")
    True
    """
    return next((size.dry for size in _widths() if size.dry >= width), width)


def measured_thickness(nominal: int) -> int | None:
    """How thick lumber sold by this nominal thickness is, dressed and dry; None where there is no such size."""
    return next((size.dry for size in _thicknesses() if size.nominal == nominal), None)


@cache
def _widths() -> tuple[DressedSize, ...]:
    return tuple(dressed_widths())


@cache
def _thicknesses() -> tuple[DressedSize, ...]:
    return tuple(dressed_thicknesses())
