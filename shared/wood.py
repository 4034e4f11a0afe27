"""What wood does: how much wider a solid panel gets when its moisture rises. Formulas with their sources."""

from dataclasses import dataclass
from decimal import Decimal

# Wood Handbook, Forest Products Laboratory FPL-GTR-190 (2010), chapter 13: equation 13-2 holds between these.
LEAST_MOISTURE_PCT, MOST_MOISTURE_PCT = Decimal(6), Decimal(14)


class NotItsMoisture(ValueError):  # noqa: N818 - raised and read as "that is not its moisture"
    """The formula does not hold there; str() of it is a whole sentence."""


@dataclass(frozen=True, slots=True)
class Movement:
    """How much wider a panel gets, in ticks: flat-sawn and quarter-sawn; None where no coefficient is known."""

    flat_sawn: int | None
    quarter_sawn: int | None


def movement(width: int, coefficient: Decimal, from_pct: Decimal, to_pct: Decimal) -> int:
    """Ticks that a width grows (below zero: shrinks) between two moisture contents, percent of dry weight.

    ΔD = D × C × (M₂ − M₁), Wood Handbook FPL-GTR-190 (2010), chapter 13, equation 13-2. Raises
    NotItsMoisture outside 6 to 14 percent, where it does not hold.

    >>> from shared.measure import inches
    >>> round(movement(inches(8), Decimal("0.0026"), Decimal(6), Decimal(12)) / inches(1), 4)
    0.1248
    """
    for pct in (from_pct, to_pct):
        if not LEAST_MOISTURE_PCT <= pct <= MOST_MOISTURE_PCT:
            raise NotItsMoisture(f"{pct} % is outside 6 to 14 %, where the formula holds. Write 7 or 11.5.")
    return round(width * coefficient * (to_pct - from_pct))


def movement_of(
    width: int, radial: Decimal | None, tangential: Decimal | None, from_pct: Decimal, to_pct: Decimal
) -> Movement:
    """`movement` for flat-sawn wood (tangential coefficient) and quarter-sawn (radial)."""
    flat, quarter = (
        None if coefficient is None else movement(width, coefficient, from_pct, to_pct)
        for coefficient in (tangential, radial)
    )
    return Movement(flat, quarter)
