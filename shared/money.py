"""Money: Decimal, to the cent, in the one currency a shop keeps. Splitting an amount never loses a cent."""

import re
import unicodedata
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from shared.quoting import quoted

CENT = Decimal("0.01")
MOST = Decimal("99999999.99")

_WOULD_DO = "Write 1246.30 or 1,246.30."
_MOST_CHARACTERS = 40
# What groups thousands is a comma, a point, a space or an apostrophe, the same one all through the number.
_WITH_POINT = re.compile(r"(?:\d+|\d{1,3}([, '])\d{3}(?:\1\d{3})*)(?:\.\d{1,2})?|\.\d{1,2}", re.ASCII)
_WITH_COMMA = re.compile(r"(?:\d+|\d{1,3}([. '])\d{3}(?:\1\d{3})*),\d{1,2}", re.ASCII)
_TOO_FINE = re.compile(r"[\d, ']*\.\d{3,}", re.ASCII)
_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£", "INR": "₹"}


class NotMoney(ValueError):  # noqa: N818  raised and read as "that is not money"
    """What was typed is not an amount; str() of it is a whole sentence for the person who typed it."""


# ---- splitting --------------------------------------------------------------------------------------------


def spread(total: Decimal, weights: Sequence[Decimal | int | Fraction]) -> list[Decimal]:
    """The total in shares by weight, each to the cent, that add up to it exactly.

    Largest remainder (Hamilton's method): every share is its exact part rounded down, and the cents left
    over go one each to the largest remainders, the earlier first where two are equal. A total below zero,
    such as a discount, is spread the same way. Raises ValueError for weights below zero or all zero, and
    for a total that is not whole cents.

    >>> spread(Decimal("10.00"), [1, 1, 1])
    [Decimal('3.34'), Decimal('3.33'), Decimal('3.33')]
    """
    exact = [Fraction(weight) for weight in weights]
    if not any(exact) or min(exact) < 0:
        raise ValueError("an amount is spread over weights of zero or more, not all of them zero")
    cents = _cents(total)
    parts = [abs(cents) * weight / sum(exact) for weight in exact]
    shares = [int(part) for part in parts]
    by_remainder = sorted(range(len(parts)), key=lambda place: shares[place] - parts[place])
    for place in by_remainder[: abs(cents) - sum(shares)]:
        shares[place] += 1
    return [_amount(share if cents >= 0 else -share) for share in shares]


def share(total: Decimal, part: Decimal | int | Fraction, whole: Decimal | int | Fraction) -> Decimal:
    """What `part` of `whole` is of the total, rounded half even to the cent; never more than the total.

    Raises ValueError unless 0 ≤ part ≤ whole, whole is above zero and the total is whole cents.

    >>> share(Decimal("92.00"), part=893, whole=4608)
    Decimal('17.83')
    """
    if not 0 <= part <= whole or whole == 0:
        raise ValueError(f"{part} is not a part of {whole}")
    return _amount(round(_cents(total) * Fraction(part) / Fraction(whole)))


def cost_of(quantity: Decimal | int | Fraction, price: Decimal) -> Decimal:
    """What a quantity costs at a price each, rounded half even to the cent once, at the end.

    >>> cost_of(Fraction(29, 48), Decimal("2.10"))
    Decimal('1.27')
    """
    return _amount(round(Fraction(quantity) * Fraction(price) * 100))


def _cents(amount: Decimal) -> int:
    cents = Fraction(amount) * 100
    if cents.denominator != 1:
        raise ValueError(f"{amount} is not whole cents")
    return cents.numerator


def _amount(cents: int) -> Decimal:
    return Decimal(cents).scaleb(-2)


# ---- reading and showing ----------------------------------------------------------------------------------


def parse_money(text: str) -> Decimal:
    """An amount as people type it, zero to MOST, to the cent.

    A currency sign before or after is taken off. Thousands may be grouped and cents may follow a comma
    where that can be read in one way only: "1,246.30", "1 246,30", "1.246,30" and "1,246" (a comma and three
    digits are thousands, as there are two decimals at most). Raises NotMoney for anything else.

    >>> parse_money("$1,246.30")
    Decimal('1246.30')
    >>> parse_money("1e5")
    Traceback (most recent call last):
    shared.money.NotMoney: "1e5" is not an amount of money. Write 1246.30 or 1,246.30.
    """
    if len(text.strip()) > _MOST_CHARACTERS:
        raise _refusal(text, "is too long to be an amount")
    tidy = _without_sign(text)
    if tidy.startswith(("-", "−", "–")):
        raise _refusal(text, "is below zero")
    if _WITH_POINT.fullmatch(tidy):
        amount = Decimal(re.sub("[, ']", "", tidy))
    elif _WITH_COMMA.fullmatch(tidy):
        amount = Decimal(re.sub("[. ']", "", tidy).replace(",", "."))
    else:
        too_fine = _TOO_FINE.fullmatch(tidy)
        raise _refusal(text, "has more than two decimals" if too_fine else "is not an amount of money")
    if amount > MOST:
        raise _refusal(text, f"is more than can be kept here ({MOST:,})")
    return amount.quantize(CENT)


def _without_sign(text: str) -> str:
    """Plain spaces and apostrophes, and no currency sign at either end."""
    plain = " ".join(text.replace("’", "'").split())
    if plain and unicodedata.category(plain[0]) == "Sc":
        return plain[1:].lstrip()
    return plain[:-1].rstrip() if plain and unicodedata.category(plain[-1]) == "Sc" else plain


def _refusal(text: str, why: str) -> NotMoney:
    return NotMoney(
        f"{quoted(text)} {why}. {_WOULD_DO}" if text.strip() else f"An amount is missing. {_WOULD_DO}"
    )


def format_money(amount: Decimal, currency: str) -> str:
    """An amount to the cent with its currency's sign, or its three letters where it has none here.

    >>> format_money(Decimal("1246.3"), "USD"), format_money(Decimal("-0.5"), "EUR")
    ('$1,246.30', '−€0.50')
    >>> format_money(Decimal(12), "CHF") == "CHF\N{NO-BREAK SPACE}12.00"
    True
    """
    cents = amount.quantize(CENT, ROUND_HALF_EVEN)
    sign = _SIGNS.get(currency, f"{currency}\N{NO-BREAK SPACE}")
    return f"{'−' if cents < 0 else ''}{sign}{abs(cents):,}"
