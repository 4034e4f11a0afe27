"""Weights, areas, volumes and coverage in other units, by pint: at the edge, never in a loop over rows."""

from decimal import Context, Decimal
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pint import UnitRegistry

_24_DIGITS = Context(prec=24)


def convert(value: Decimal, unit_from: str, unit_to: str) -> Decimal:
    """A value in another unit, by pint's names of them. Raises pint.PintError where there is no way.

    >>> convert(Decimal(100), "lb", "kg")
    Decimal('45.35923700')
    >>> convert(Decimal(400), "ft^2/gallon", "m^2/l").quantize(Decimal("0.01"))
    Decimal('9.82')
    """
    return value * _factor(unit_from, unit_to)


@cache
def _factor(unit_from: str, unit_to: str) -> Decimal:
    factor = Decimal(_registry().Quantity(Decimal(1), unit_from).to(unit_to).magnitude)
    # pint goes by way of other units and is off in the last of 28 digits: a square foot as 0.0929030399...9.
    return _24_DIGITS.plus(factor)


@cache
def _registry() -> "UnitRegistry[Decimal]":
    from pint import UnitRegistry  # here because it takes most of a second, and few pages need it

    return UnitRegistry(non_int_type=Decimal)
