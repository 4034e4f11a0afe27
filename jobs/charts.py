"""Bars and lines as SVG, drawn on the server. Plain numbers in, markup out; charts.css gives the ink.

A chart is a second look at the table beside it: it is hidden from screen readers, and whatever it shows is said in
figures on it too. Text is as large as on the page when a chart is shown at its own width.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

NOTHING = Decimal(0)
DESK, PHONE = 680, 340
TALL, TOP, FOOT, FIGURE = 210, 24, 24, 18
ROOM_FOR_A_BAR = {DESK: 52, PHONE: 52}


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: the word below it, its amount, the figure above it, where it leads."""

    word: str
    amount: Decimal
    figure: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class Point:
    """One price seen on a day."""

    day: date
    amount: Decimal
    figure: str


@dataclass(frozen=True, slots=True)
class Share:
    """A bar in a row of a table, in hundredths of its cell: where it begins, how wide it is, where nothing is."""

    left: int = 0
    width: int = 0
    zero: int = 0


NO_SHARE = Share()


def shares(amounts: Sequence[Decimal]) -> list[Share]:
    """A bar for each amount, all on one scale; what is below zero lies left of the line where nothing is."""
    most, least = max((*amounts, NOTHING)), min((*amounts, NOTHING))
    if most == least:
        return [NO_SHARE for _ in amounts]
    zero = round(-100 * least / (most - least))
    widths = (round(100 * amount / (most - least)) for amount in amounts)
    return [Share(zero + min(width, 0), abs(width), zero) for width in widths]


def bars(rows: Sequence[Bar], width: int = DESK) -> SafeString:
    """Bars side by side in the order given; the latest that have room. What is below zero hangs from the line that
    the others stand on. Nothing where there are none."""
    shown = rows[-(width // ROOM_FOR_A_BAR[width]) :]
    if not shown:
        return SafeString()
    most, least = max(row.amount for row in shown), min(row.amount for row in shown)
    room = TALL - TOP - FOOT - (FIGURE if least < 0 else 0)
    each = room / max(max(most, NOTHING) - min(least, NOTHING), Decimal(1))
    zero = TOP + int(max(most, NOTHING) * each) if least < 0 else TALL - FOOT
    step = min(width // len(shown), 96)
    drawn = format_html_join(
        "",
        "{}",
        ((_bar(row, int(row.amount * each), zero, place * step, step),) for place, row in enumerate(shown)),
    )
    return _drawing(width, drawn + _rule(0, len(shown) * step, zero))


def _bar(row: Bar, height: int, zero: int, left: int, step: int) -> SafeString:
    """A bar this high, below zero this deep; its figure at the end that is away from the line."""
    middle = left + step // 2
    drawn = format_html(
        '<rect class="chart-bar" x="{}" y="{}" width="{}" height="{}"/>'
        '<text class="chart-figure" x="{}" y="{}">{}</text><text class="chart-word" x="{}" y="{}">{}</text>',
        left + 6,
        zero - max(height, 0),
        step - 12,
        abs(height),
        middle,
        zero - height + (FIGURE - 3 if row.amount < 0 else -6),
        row.figure,
        middle,
        TALL - 7,
        row.word,
    )
    return format_html('<a href="{}" tabindex="-1">{}</a>', row.href, drawn) if row.href else drawn


def line(points: Sequence[Point], width: int = DESK) -> SafeString:
    """Amounts over time, oldest first, from zero up. Nothing for fewer than two days."""
    if len({point.day for point in points}) < 2:
        return SafeString()
    first, last = points[0].day, points[-1].day
    most = max(max(point.amount for point in points), Decimal("0.01"))
    room = width - 2 * 40
    places = [
        (
            40 + room * (point.day - first).days // (last - first).days,
            TALL - FOOT - int((TALL - TOP - FOOT) * point.amount / most),
        )
        for point in points
    ]
    named = _named(points)
    path = " ".join(f"{x},{y}" for x, y in places)
    dots = format_html_join("", '<circle class="chart-dot" cx="{}" cy="{}" r="4"/>', places)
    figures = format_html_join(
        "",
        '<text class="chart-figure" x="{}" y="{}">{}</text>',
        ((places[place][0], places[place][1] - 9, points[place].figure) for place in named),
    )
    days = format_html(
        '<text class="chart-word" x="40" y="{}">{}</text><text class="chart-word" x="{}" y="{}">{}</text>',
        TALL - 7,
        _day(first),
        width - 40,
        TALL - 7,
        _day(last),
    )
    drawn = format_html('<polyline class="chart-line" points="{}"/>', path) + dots + figures + days
    return _drawing(width, drawn + _rule(0, width, TALL - FOOT))


def _named(points: Sequence[Point]) -> list[int]:
    """The points that get their figure: the last, and the dearest where that is another."""
    dearest = max(range(len(points)), key=lambda place: points[place].amount)
    last = len(points) - 1
    return [last] if points[dearest].amount == points[last].amount else [dearest, last]


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _rule(left: int, right: int, y: int) -> SafeString:
    return format_html('<line class="chart-rule" x1="{}" y1="{}" x2="{}" y2="{}"/>', left, y, right, y)


def _drawing(width: int, drawn: SafeString) -> SafeString:
    return format_html(
        '<svg class="chart" viewBox="0 0 {} {}" width="{}" height="{}" aria-hidden="true">{}</svg>',
        width,
        TALL,
        width,
        TALL,
        drawn,
    )
