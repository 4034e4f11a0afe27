"""Template tags that set lengths, codes, money, areas and weights as the shop reads them."""

import re
from decimal import Decimal
from typing import Any, Protocol

from django.template import Context, Library
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe

from shared import codes, measure
from shared.measure import Unit
from shared.money import format_money

register = Library()


class Reads(Protocol):
    """What of the shop's settings decides how numbers are written."""

    @property
    def unit(self) -> Unit: ...
    @property
    def currency(self) -> str: ...


# Halves to sixty-fourths and quarters, as names of materials hold them; never part of a date or a decimal.
_FRACTION = re.compile(r"(?<![\w/.,])(?:(\d+) )?(\d{1,2})/(2|4|8|16|32|64)(?![\w/]|[.,]\d)", re.ASCII)


@register.filter
def length_in(ticks: int | None, shop: Reads) -> SafeString:
    """A length, its fraction set as a fraction; its text stays "23 1/2" for copying and for the ear."""
    if ticks is None:
        return SafeString()
    return format_html('<span class="length">{}</span>', _set(*measure.split_fraction(ticks, shop.unit)))


@register.filter
def length_with_unit(ticks: int | None, shop: Reads) -> SafeString:
    """As length_in, with "in" or "mm" behind: for a length that stands alone in a sentence."""
    if ticks is None:
        return SafeString()
    number = _set(*measure.split_fraction(ticks, shop.unit))
    return format_html('<span class="length">{} {}</span>', number, shop.unit)


@register.simple_tag
def size(length: int, width: int, shop: Reads) -> SafeString:
    """Length with the grain × width across it."""
    return format_html(
        '<span class="size">{} <span class="by">×</span> {}</span>',
        length_in(length, shop),
        length_in(width, shop),
    )


@register.filter
def fractions(text: Any) -> SafeString:
    """Text with each "3/4" in it set as a fraction and the rest escaped. What is markup already stays."""
    text = "" if text is None else text if hasattr(text, "__html__") else str(text)
    if hasattr(text, "__html__"):
        return conditional_escape(text)
    escaped = conditional_escape(text)
    # Both branches of the pattern are digits only, so that what is marked safe here was escaped above.
    return mark_safe(_FRACTION.sub(lambda found: _set(*found.groups(default="")), escaped))


def _set(whole: str, top: str, bottom: str) -> SafeString:
    if not top:
        return format_html("{}", whole)
    fraction = format_html(
        '<span class="fraction"><sup>{}</sup><span class="fraction-bar">/</span><sub>{}</sub></span>',
        top,
        bottom,
    )
    return format_html('<span class="mixed">{} {}</span>', whole, fraction) if whole else fraction


@register.filter
def grouped(code: str) -> SafeString:
    """A label's code in two groups, as it stands on the label."""
    return format_html('<span class="code">{}</span>', codes.grouped(code)) if code else SafeString()


@register.filter
def money(amount: Decimal | None, shop: Reads) -> str:
    """An amount in the shop's currency; nothing where it is not known."""
    return "" if amount is None else format_money(amount, shop.currency)


@register.filter
def quantity(amount: Decimal | int | None) -> str:
    """How many, without the zeros that a column pads it with: 4, 1.5, 1,200."""
    return "" if amount is None else f"{Decimal(amount).normalize():,f}"


@register.filter
def area(ticks2: int | None, shop: Reads) -> str:
    """An area, given in square ticks, in square feet or square metres."""
    return "" if ticks2 is None else measure.format_area(ticks2, shop.unit)


@register.filter
def weight(kg: Decimal | None, shop: Reads) -> str:
    """A weight, given in kilograms, in pounds or kilograms."""
    return "" if kg is None else measure.format_weight(kg, shop.unit)


@register.simple_tag(takes_context=True)
def here(context: Context, address: str) -> SafeString:
    """Marks a link of the top bar or a sub navigation as where the reader is, on it or below it."""
    path = getattr(context.get("request"), "path", "")
    if path == address:
        return SafeString(' aria-current="page"')
    return SafeString(' aria-current="true"' if path.startswith(address.rstrip("/") + "/") else "")
