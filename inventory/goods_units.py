"""How many of a goods' own unit something is: a box of 50, a dozen, a quart where it is counted in litres.

A pack is written as the shelf or the invoice has it: "box of 50", "can of 1 quart", "250 ml", "dozen". Measures are
converted by pint; other words only count what stands behind "of".
"""

import re
from decimal import Decimal
from fractions import Fraction

import pint

from shared.quoting import quoted
from shared.units import convert

THOUSANDTH = Decimal("0.001")
DOZENS = {"pair": 2, "dozen": 12, "gross": 144}
SINGLE = {"each", "piece", "pc", "pcs", "ea"}
_PACK = re.compile(
    r"(?:(?P<word>[^\d\W][\w -]*?) of )?(?P<number>\d+(?:[.,]\d+)?)?\s*(?P<unit>[^\d\W][\w ]*)?"
)


class NotAPack(ValueError):  # noqa: N818 - raised and read as "that is no pack"
    """What was typed is no pack of these goods; str() of it is a whole sentence."""


def pack_size(text: str, unit: str) -> Decimal:
    """How many of `unit` one pack is, to the thousandth. Raises NotAPack.

    >>> pack_size("box of 50", "each"), pack_size("dozen", "each"), pack_size("", "pair")
    (Decimal('50.000'), Decimal('12.000'), Decimal('1.000'))
    >>> pack_size("quart", "litre"), pack_size("can of 2.5 litre", "quart")
    (Decimal('0.946'), Decimal('2.642'))
    """
    tidy = " ".join(text.lower().split())
    if not tidy or _same(tidy, unit):
        return Decimal("1.000")
    found = _PACK.fullmatch(tidy)
    if not found:
        raise NotAPack(_sentence(text, unit))
    number = Decimal((found["number"] or "1").replace(",", "."))
    size = (number * _in_unit(found["unit"] or (unit if found["number"] else ""), unit, text)).quantize(
        THOUSANDTH
    )
    if size <= 0:
        raise NotAPack(_sentence(text, unit))
    return size


def _in_unit(word: str, unit: str, text: str) -> Decimal:
    """One of `word` in `unit`."""
    if _same(word, unit):
        return Decimal(1)
    if _counts(word) and _counts(unit):
        return Decimal(_counts(word)) / Decimal(_counts(unit))
    try:
        return convert(Decimal(1), _singular(word), _singular(unit))
    except (pint.PintError, AttributeError, ValueError) as error:
        raise NotAPack(_sentence(text, unit)) from error


def _same(word: str, unit: str) -> bool:
    return _singular(word) == _singular(unit.lower())


def _counts(word: str) -> int:
    """How many single things it is; 0 for what is no count."""
    word = _singular(word)
    return 1 if word in SINGLE else DOZENS.get(word, 0)


def _singular(word: str) -> str:
    word = word.strip()
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _sentence(text: str, unit: str) -> str:
    return (
        f"{quoted(text)} can't be turned into {unit}. Write how many {unit} it holds, as: box of 50 {unit}."
    )


def price_each(price: Decimal, pack: Decimal) -> Fraction:
    """What one unit of a pack costs, exactly."""
    return Fraction(price) / Fraction(pack)
