"""Lengths, areas, board feet and weights: the one place where what people type becomes a number.

A length is a whole number of ticks, 1/40,000 mm (25 nm). 1/64 in is 15,875 ticks, a thousandth of an inch
1,016 and 0.01 mm is 400, so inch and metric shops alike count exactly and no comparison needs a tolerance.
The inch is 25.4 mm exactly (NIST SP 811, 2008, appendix B.8).
"""

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args

from shared.quoting import quoted
from shared.units import convert

Unit = Literal["in", "mm"]

TICKS_PER_INCH = 1_016_000
TICKS_PER_MM = 40_000
TICKS_PER_FOOT = 12 * TICKS_PER_INCH
TICKS_PER_64TH = TICKS_PER_INCH // 64
LONGEST = 1200 * TICKS_PER_INCH  # nothing in a shop is longer

_TICKS_PER: dict[Unit, int] = {"in": TICKS_PER_INCH, "mm": TICKS_PER_MM}
_DECIMALS_SHOWN: dict[Unit, int] = {"in": 4, "mm": 3}


class NotALength(ValueError):  # noqa: N818  raised and read as "that is not a length"
    """What was typed is not a length; str() of it is a whole sentence for the person who typed it."""


# ---- lengths as code and tests write them -----------------------------------------------------------------


def inches(value: int | str | Fraction | Decimal) -> int:
    """Ticks in so many inches. Raises ValueError where they are not a whole number.

    >>> inches(48), inches("23 1/2"), inches("0.001")
    (48768000, 23876000, 1016)
    """
    return exact_ticks(value, "in") if isinstance(value, str) else _whole(Fraction(value) * TICKS_PER_INCH)


def mm(value: int | str | Fraction | Decimal) -> int:
    """Ticks in so many millimetres. Raises ValueError where they are not a whole number.

    >>> mm(18), mm("0.01")
    (720000, 400)
    """
    return exact_ticks(value, "mm") if isinstance(value, str) else _whole(Fraction(value) * TICKS_PER_MM)


def _whole(ticks: Fraction) -> int:
    if ticks.denominator != 1:
        raise ValueError(f"{ticks} ticks is not a whole number of them")
    return ticks.numerator


# ---- reading what people type -----------------------------------------------------------------------------

_TICKS_PER_WORD = {
    **dict.fromkeys(('"', "in", "inch", "inches"), TICKS_PER_INCH),
    **dict.fromkeys(("'", "ft", "foot", "feet"), TICKS_PER_FOOT),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), TICKS_PER_MM),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 10 * TICKS_PER_MM),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1000 * TICKS_PER_MM),
}
_FEET_AND_INCHES = re.compile(
    r"""([^a-z'"]+?)[ ]?(?:'|ft\.?|foot|feet)[ -]*([^a-z'"]+?)[ ]?(?:"|in\.?|inch|inches)?""", re.ASCII
)
_ONE_NUMBER = re.compile(r"""([^a-z'"]+?)[ ]?("|'|[a-z]*)\.?""", re.ASCII)
_DECIMAL = re.compile(r"\d+(?:\.\d+)?|\.\d+", re.ASCII)
_FRACTION = re.compile(r"(?:(\d+)(?: |-))?(\d+) ?/ ?(\d+)", re.ASCII)
_DECIMAL_COMMA = re.compile(r"\d+,\d{1,2}", re.ASCII)
_SAME_SIGN = str.maketrans(
    {
        **dict.fromkeys("′’‘", "'"),
        **dict.fromkeys("″“”", '"'),
        **dict.fromkeys("⁄∕", "/"),
        **dict.fromkeys("‐‑–−", "-"),
    }
)
_MOST_CHARACTERS = 40  # "1199 1015999/1016000 millimetres" is about the longest that makes sense
_WOULD_DO: dict[Unit, str] = {"in": "Write 23 1/2, 23.5 or 597 mm.", "mm": "Write 597, 596.9 or 23 1/2 in."}


def parse_length(text: str, unit: Unit, *, zero_ok: bool = False) -> int:
    """Ticks in a length as people write it; a bare number is in `unit`, the shop's.

    Understands fractions, decimals, feet and inches, mm, cm and m, with the signs a phone or a spreadsheet
    puts in (½, ′, ″, no-break spaces). A decimal finer than a tick goes to the nearest one, at most 12.5 nm
    away. Raises NotALength for anything else, for a fraction no tick can hold, for what is longer than
    LONGEST, and for zero unless zero_ok.

    >>> parse_length("23 1/2", "in") == parse_length("596.9", "mm") == parse_length("1' 11½″", "mm")
    True
    >>> parse_length("23 1/2 x", "in")
    Traceback (most recent call last):
    shared.measure.NotALength: "23 1/2 x" is not a length. Write 23 1/2, 23.5 or 597 mm.
    """
    exact = _ticks_in(text, unit)
    if exact.denominator != 1 and "/" in _tidy(text):
        raise NotALength(f"{quoted(text)} falls between the marks of a tape. {_nearest_marks(exact, unit)}")
    ticks = round(exact)
    if ticks == 0 and not zero_ok:
        raise _refusal(text, "is not above zero", unit)
    return ticks


def exact_ticks(text: str, unit: Unit) -> int:
    """Ticks in a length that must be exact, as in a planning problem; zero is one. The inverse of exact_text.

    Takes all that parse_length takes, but rounds nothing. Raises NotALength.

    >>> exact_ticks("23 1/2", "in"), exact_ticks("1/1016000", "in"), exact_ticks("0", "mm")
    (23876000, 1, 0)
    """
    exact = _ticks_in(text, unit)
    if exact.denominator != 1:
        raise NotALength(f"{quoted(text)} is finer than can be kept. {_nearest_marks(exact, unit)}")
    return exact.numerator


def _ticks_in(text: str, unit: Unit) -> Fraction:
    """The ticks in a length as written, 0 to LONGEST and not yet whole. Raises NotALength."""
    try:
        return _read(text, unit)
    except _RefusedError as why:
        raise _refusal(text, str(why), unit) from None


class _RefusedError(Exception):
    """Why a text is no length: the end of a sentence that begins with the text."""


def _read(text: str, unit: Unit) -> Fraction:
    if len(text.strip()) > _MOST_CHARACTERS:
        raise _RefusedError("is too long to be a length")
    tidy = _tidy(text)
    if tidy.startswith("-"):
        raise _RefusedError("is below zero")
    if match := _FEET_AND_INCHES.fullmatch(tidy):
        feet, rest = (_number(amount, comma_ok=True) for amount in match.groups())
        ticks = feet * TICKS_PER_FOOT + rest * TICKS_PER_INCH
    elif (match := _ONE_NUMBER.fullmatch(tidy)) and (scale := _TICKS_PER_WORD.get(match[2] or unit)):
        ticks = _number(match[1], comma_ok=bool(match[2]) or unit == "mm") * scale
    else:
        raise _RefusedError("is not a length")
    if ticks > LONGEST:
        raise _RefusedError(f"is longer than anything in a shop ({format_length_with_unit(LONGEST, unit)})")
    return ticks


def _number(text: str, *, comma_ok: bool) -> Fraction:
    """A whole, decimal or mixed number. Raises _RefusedError where the text is none of them."""
    if "," in text:
        if not (comma_ok and _DECIMAL_COMMA.fullmatch(text)):
            raise _RefusedError("has a comma that may part thousands or decimals")
        text = text.replace(",", ".")
    if _DECIMAL.fullmatch(text):
        return Fraction(text)
    if not (match := _FRACTION.fullmatch(text)):
        raise _RefusedError("is not a length")
    whole, top, bottom = (int(digits or 0) for digits in match.groups())
    if bottom == 0:
        raise _RefusedError("divides by zero")
    # 5/4 is said in a shop; 23 3/2 is a slip of the finger.
    if whole and top >= bottom:
        raise _RefusedError("has a fraction of one or more")
    return whole + Fraction(top, bottom)


def _tidy(text: str) -> str:
    """The same length in plain signs: single spaces, lower case, ASCII quotes and slashes, ½ as 1/2."""
    spaced = "".join(_spelled_fraction(sign) for sign in text)
    return " ".join(spaced.translate(_SAME_SIGN).replace("''", '"').lower().split())


def _spelled_fraction(sign: str) -> str:
    # "23½" must become "23 1/2" and never "231/2", which is what plain Unicode normalisation makes of it.
    kind, *digits = unicodedata.decomposition(sign).split() or [""]
    return " " + "".join(chr(int(digit, 16)) for digit in digits) if kind == "<fraction>" else sign


def _refusal(text: str, why: str, unit: Unit) -> NotALength:
    start = f"{quoted(text)} {why}" if text.strip() else "A length is missing"
    return NotALength(f"{start}. {_WOULD_DO[unit]}")


def _nearest_marks(ticks: Fraction, unit: Unit) -> str:
    mark = TICKS_PER_64TH if unit == "in" else TICKS_PER_MM // 100
    below = ticks // mark * mark
    marks = [format_length_with_unit(length, unit) for length in (below, below + mark) if length]
    return f"The nearest that would do: {' or '.join(marks)}."


# ---- showing lengths --------------------------------------------------------------------------------------


def format_length(ticks: int, unit: Unit) -> str:
    """A length as the shop reads it: inches in fractions down to 1/64, else in decimals; millimetres.

    Decimals stop at 4 places in inches and 3 in millimetres, so that what is shown is within half of its
    last digit; a length too small even for those is shown exactly. Raises ValueError below zero.

    >>> format_length(inches("23 1/2"), "in"), format_length(mm(3), "in"), format_length(mm("596.9"), "mm")
    ('23 1/2', '0.1181', '596.9')
    """
    return _joined(*split_fraction(ticks, unit))


def split_fraction(ticks: int, unit: Unit) -> tuple[str, str, str]:
    """format_length in three: whole or decimal number, numerator, denominator; "" for what there is none of.

    >>> split_fraction(inches("23 1/2"), "in"), split_fraction(mm("596.9"), "mm")
    (('23', '1', '2'), ('596.9', '', ''))
    """
    number = _in_units(ticks, unit)
    shown = _decimal_text(number, _DECIMALS_SHOWN[unit])
    if shown == "0" or _is_on_a_tape(ticks, unit):
        return _mixed(number)
    return shown, "", ""


def format_length_with_unit(ticks: int, unit: Unit) -> str:
    """format_length and the unit's short name.

    >>> format_length_with_unit(inches("23 1/2"), "in"), format_length_with_unit(mm(597), "mm")
    ('23 1/2 in', '597 mm')
    """
    return f"{format_length(ticks, unit)} {unit}"


def format_size(length: int, width: int, unit: Unit) -> str:
    """Length with the grain, then width across it.

    >>> format_size(inches(96), inches(48), "in")
    '96 × 48'
    """
    return f"{format_length(length, unit)} × {format_length(width, unit)}"


def typed_text(ticks: int, unit: Unit) -> str:
    """What to put into a form field so that saving it untouched changes nothing: parse_length gives `ticks`.

    >>> typed_text(inches("23 1/2"), "in"), typed_text(mm(3), "in"), typed_text(inches("1/64"), "mm")
    ('23 1/2', '3 mm', '1/64 in')
    """
    here = format_length(ticks, unit)
    there = [format_length_with_unit(ticks, other) for other in get_args(Unit) if other != unit]
    exact = (text for text in (here, *there) if _ticks_in(text, unit) == ticks)
    return next(exact, exact_text(ticks, unit))


def exact_text(ticks: int, unit: Unit) -> str:
    """A length with nothing rounded: whole, decimal or mixed fraction, as the planning format writes it.

    >>> exact_text(inches("23 1/2"), "in"), exact_text(inches("0.118"), "in"), exact_text(mm(3), "in")
    ('23 1/2', '0.118', '15/127')
    >>> exact_text(1, "mm")
    '0.000025'
    """
    number = _in_units(ticks, unit)
    decimal = _decimal_text(number, 6)
    if Fraction(decimal) == number and not _is_on_a_tape(ticks, unit):
        return decimal
    return _joined(*_mixed(number))


def _in_units(ticks: int, unit: Unit) -> Fraction:
    if ticks < 0:
        raise ValueError(f"a length of {ticks} ticks is below zero")
    return Fraction(ticks, _TICKS_PER[unit])


def _is_on_a_tape(ticks: int, unit: Unit) -> bool:
    return unit == "in" and ticks % TICKS_PER_64TH == 0


def _mixed(number: Fraction) -> tuple[str, str, str]:
    whole, rest = divmod(number, 1)
    return (str(whole or ""), str(rest.numerator), str(rest.denominator)) if rest else (str(whole), "", "")


def _joined(whole: str, top: str, bottom: str) -> str:
    return f"{whole} {top}/{bottom}".strip() if top else whole


def _decimal_text(number: Fraction, places: int) -> str:
    """Rounded half even to `places`, without zeros at the end, in plain digits."""
    whole, rest = divmod(round(number * 10**places), 10**places)
    return f"{whole}.{rest:0{places}}".rstrip("0").rstrip(".")


# ---- lumber -----------------------------------------------------------------------------------------------


def board_feet(thickness: int, width: int, length: int) -> Fraction:
    """Volume in board feet of 144 cubic inches, not rounded; stock thinner than an inch counts as an inch.

    Sizes are the ones the lumber is sold by (a planed 2 × 4 counts as 2 × 4). Danforth, An Elementary
    Outline of Mechanical Processes, section 46.

    >>> board_feet(inches("1 1/2"), inches(9), inches(96))
    Fraction(9, 1)
    """
    return Fraction(_counted(thickness) * width * length, 144 * TICKS_PER_INCH**3)


def surface_measure(width: int, length: int) -> int:
    """Square feet of one board's face by the hardwood tally: width times whole feet, to the nearest whole.

    A half goes up; over many boards it goes alternately up and down (shared.tally). NHLA Rules Book,
    Measurement and Tally, paragraph 16.

    >>> surface_measure(inches("6 7/16"), inches("129"))
    5
    """
    halves = 2 * width * (length // TICKS_PER_FOOT) // TICKS_PER_FOOT
    return (halves + 1) // 2


def tally_board_feet(thickness: int, width: int, length: int) -> Fraction:
    """Board feet of one hardwood board as the yard tallies it: surface measure times nominal thickness.

    American Hardwood Export Council, grading guide, Measurement.

    >>> tally_board_feet(inches(2), inches("6 1/4"), inches(96))
    Fraction(8, 1)
    """
    return surface_measure(width, length) * Fraction(_counted(thickness), TICKS_PER_INCH)


def _counted(thickness: int) -> int:
    return max(thickness, TICKS_PER_INCH)


# ---- areas and weights -------------------------------------------------------------------------------------


def area_in2(length: int, width: int) -> Decimal:
    """Square inches.

    >>> area_in2(inches(96), inches(48))
    Decimal('4608')
    """
    return Decimal(length * width) / TICKS_PER_INCH**2


def area_ft2(length: int, width: int) -> Decimal:
    """Square feet.

    >>> area_ft2(inches(96), inches(48))
    Decimal('32')
    """
    return Decimal(length * width) / TICKS_PER_FOOT**2


def area_m2(length: int, width: int) -> Decimal:
    """Square metres.

    >>> area_m2(mm(2500), mm(1250))
    Decimal('3.125')
    """
    return Decimal(length * width) / (1000 * TICKS_PER_MM) ** 2


def format_area(area_ticks2: int, unit: Unit) -> str:
    """An area in square ticks as the shop reads it, with a figure more where it is small.

    >>> format_area(inches(96) * inches(48), "in"), format_area(mm(1800) * mm(950), "mm")
    ('32.0 sq ft', '1.71 m²')
    """
    if unit == "in":
        area = area_ft2(area_ticks2, 1)
        return f"{area:.1f} sq ft" if area >= 1 else f"{area:.2f} sq ft"
    area = area_m2(area_ticks2, 1)
    return f"{area:.2f} m²" if area >= Decimal("0.1") else f"{area:.3f} m²"


def weight_kg(length: int, width: int, thickness: int, density_kg_m3: Decimal | int) -> Decimal:
    """Volume times density, in kilograms.

    >>> weight_kg(inches(96), inches(48), inches("3/4"), 680).quantize(Decimal("0.1"))
    Decimal('38.5')
    """
    return Decimal(length * width * thickness) / (1000 * TICKS_PER_MM) ** 3 * density_kg_m3


def format_weight(kg: Decimal, unit: Unit) -> str:
    """Whole pounds or kilograms; one decimal below ten of them.

    >>> format_weight(Decimal("32"), "in"), format_weight(Decimal("32"), "mm")
    ('71 lb', '32 kg')
    """
    weight, name = (convert(kg, "kg", "lb"), "lb") if unit == "in" else (kg, "kg")
    return f"{weight:.0f} {name}" if weight >= 10 else f"{weight:.1f} {name}"
