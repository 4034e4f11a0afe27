"""Board feet as they are invoiced and kept: a bundle of hardwood boards is tallied as one, and rounded as one."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from shared.measure import TICKS_PER_FOOT, TICKS_PER_INCH, board_feet

Board = tuple[int, int]  # width and length in ticks


def as_decimal(feet: Fraction) -> Decimal:
    """Board feet to four places, as they are kept.

    >>> as_decimal(Fraction(8, 3))
    Decimal('2.6667')
    """
    return (Decimal(feet.numerator) / Decimal(feet.denominator)).quantize(Decimal("0.0001"))


def surface_measures(boards: Iterable[Board]) -> list[int]:
    """Each board's whole square feet: width times whole feet; exact halves go up and down by turns.

    NHLA Rules Book, Measurement and Tally, paragraph 16 (the turns from memory; the American Hardwood Export
    Council's grading guide states the same of half inches). The first half goes up.

    >>> from shared.measure import inches
    >>> surface_measures([(inches(6), inches(108)), (inches("6 1/4"), inches(96)), (inches(6), inches(108))])
    [5, 4, 4]
    """
    return _nearest(Fraction(width * (length // TICKS_PER_FOOT), TICKS_PER_FOOT) for width, length in boards)


def bundle_board_feet(thickness: int, boards: Iterable[Board]) -> int:
    """Board feet of a bundle of one nominal thickness: surface measures added up, times thickness.

    Rounded once, to the nearest whole, a half up; not board by board. Thickness under an inch counts as an
    inch. University extension text on hardwood lumber grading and terms.

    >>> from shared.measure import inches
    >>> bundle_board_feet(inches("1 1/4"), [(inches("6 1/4"), inches(96)), (inches(9), inches(120))])
    15
    """
    counted = Fraction(max(thickness, TICKS_PER_INCH), TICKS_PER_INCH)
    return _nearest([sum(surface_measures(boards)) * counted])[0]


def export_board_feet(thickness: int, boards: Iterable[Board]) -> Fraction:
    """Board feet of a bundle tallied for export: widths to the nearest inch, lengths down to the whole foot.

    Exact half inches go up and down by turns, the first up. American Hardwood Export Council, grading guide,
    Measurement.

    >>> from shared.measure import inches
    >>> export_board_feet(inches(1), [(inches("5 1/4"), inches(102))])
    Fraction(10, 3)
    """
    boards = list(boards)
    widths = _nearest(Fraction(width, TICKS_PER_INCH) for width, _ in boards)
    lengths = [length // TICKS_PER_FOOT * TICKS_PER_FOOT for _, length in boards]
    tallied = zip(widths, lengths, strict=True)
    return sum(
        (board_feet(thickness, width * TICKS_PER_INCH, length) for width, length in tallied), Fraction(0)
    )


def _nearest(amounts: Iterable[Fraction]) -> list[int]:
    """The nearest whole numbers, exact halves up and down by turns."""
    wholes, up = [], True
    for amount in amounts:
        below, rest = divmod(amount, 1)
        if rest == Fraction(1, 2):
            wholes.append(below + up)
            up = not up
        else:
            wholes.append(round(amount))
    return wholes
