"""Exact numbers of the planning format: read to fractions, written back as the shop writes them."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache

from jobs.cutting.problem import ProblemError

NUMBER = re.compile(r"\s*(-?\d+(?:\.\d+)?|-?\.\d+)\s*|\s*(-?)(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)\s*")
LARGEST = 10**9


def read_number(value: object, where: str, what: str = "length") -> Fraction:
    """An exact number from 12, 12.5, "12.5", "3/4" or "23 1/2". Raises ProblemError.

    >>> read_number("23 1/2", "part 'side'")
    Fraction(47, 2)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str | Fraction):
        raise ProblemError(f"{where}: {value!r} is not a {what}. Write 23 1/2, 23.5 or 597.")
    text = repr(value) if isinstance(value, float) else str(value)
    if len(text) > 60:
        raise ProblemError(
            f"{where}: a {what} of {len(text)} characters is too long. Write 23 1/2, 23.5 or 597."
        )
    number = _parsed(text)
    if number is None:
        raise ProblemError(f"{where}: {value!r} is not a {what}. Write 23 1/2, 23.5 or 597.")
    if abs(number) > LARGEST:
        raise ProblemError(f"{where}: {value!r} is too large. Nothing in a shop is longer than {LARGEST}.")
    return number


@lru_cache(maxsize=10_000)  # a rack of thousands has the same few sizes again and again
def _parsed(text: str) -> Fraction | None:
    found = NUMBER.fullmatch(text)
    if found is None:
        return _scientific(text)
    plain, minus, whole, top, bottom = found.groups()
    if plain is not None:
        return Fraction(plain)
    if int(bottom) == 0:
        return None
    number = int(whole or 0) + Fraction(int(top), int(bottom))
    return -number if minus else number


def _scientific(text: str) -> Fraction | None:
    """What a float prints for very small or large numbers, such as 1e-07."""
    if re.fullmatch(r"-?\d+(\.\d+)?[eE][-+]?\d{1,2}", text):
        return Fraction(text)
    return None


def common_measure(numbers: list[Fraction]) -> Fraction:
    """The largest length of which all these are whole multiples (1 where all are zero).

    >>> common_measure([Fraction(3, 4), Fraction(1, 2), Fraction(96)])
    Fraction(1, 4)
    """
    different = set(numbers)
    bottom = math.lcm(*(number.denominator for number in different))
    top = math.gcd(*(int(number * bottom) for number in different))
    return Fraction(top, bottom) if top else Fraction(1)


def write_length(number: Fraction, *, in_fractions: bool) -> str:
    """An exact length: a whole number, a mixed shop fraction, or a decimal.

    >>> write_length(Fraction(47, 2), in_fractions=True), write_length(Fraction(47, 2), in_fractions=False)
    ('23 1/2', '23.5')
    """
    if number.denominator == 1:
        return str(number.numerator)
    if not in_fractions:
        text = exact_decimal(number)
        if text is not None:
            return text
    sign, number = ("-", -number) if number < 0 else ("", number)
    whole, rest = divmod(number.numerator, number.denominator)
    fraction = f"{rest}/{number.denominator}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def exact_decimal(number: Fraction) -> str | None:
    """The number as a decimal that says all of it; None where it never ends (1/3)."""
    bottom, twos, fives = number.denominator, 0, 0
    while bottom % 2 == 0:
        bottom, twos = bottom // 2, twos + 1
    while bottom % 5 == 0:
        bottom, fives = bottom // 5, fives + 1
    if bottom != 1:
        return None
    places = max(twos, fives)
    digits = str(abs(number.numerator) * 10**places // number.denominator).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"-{text}" if number < 0 else text


def write_money(amount: Fraction, *, down: bool = False) -> str:
    """An amount with two decimals where they say all of it, more where they do not; `down` never says more.

    >>> write_money(Fraction(92)), write_money(Fraction(1, 8)), write_money(Fraction(2, 3), down=True)
    ('92.00', '0.125', '0.66')
    """
    cents = amount * 100
    if cents.denominator == 1:
        return f"{float(amount):.2f}" if abs(cents) < 10**14 else (exact_decimal(amount) or "")
    text = exact_decimal(amount)
    if text is not None and len(text.split(".")[1]) <= 4:
        return text
    whole = math.floor(cents) if down else round(cents)
    return write_money(Fraction(whole, 100))
