"""Which edges of a panel are faced with solid strips, read from what parts lists say, and what that makes of
its size.

The long edges, L1 and L2, run with the length; the short ones, W1 and W2, with the width. The front is L1.
Strips on the long edges run over the ends of the short ones: common practice, no source.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from shared.measure import NotALength, Unit, parse_length
from shared.quoting import quoted

LONG, SHORT = ("L1", "L2"), ("W1", "W2")
EDGES = LONG + SHORT
WOULD_DO = 'Write front, all, 2 long 1 short, or L1 W1; strip and wood may follow, such as "all, 1/4 ash".'


class NotEdging(ValueError):  # noqa: N818 - raised and read as "that is no edging"
    """What was typed names no edges; str() of it is a whole sentence."""


@dataclass(frozen=True, slots=True)
class Edging:
    """Edges in the order of EDGES; what else was said of the strips. Ticks; None where nothing was."""

    edges: tuple[str, ...] = ()
    thickness: int | None = None
    material_text: str = ""
    is_extra: bool = False

    @property
    def text(self) -> str:
        """The edges as they are kept: "L1 W1"."""
        return " ".join(self.edges)


@dataclass(slots=True)
class _Read:
    """What was understood so far."""

    text: str
    unit: Unit
    edges: list[str] = field(default_factory=list)
    thickness: int | None = None
    words: list[str] = field(default_factory=list)
    is_extra: bool = False

    def add(self, side: tuple[str, ...], count: int, what: str) -> None:
        free = [edge for edge in side if edge not in self.edges]
        if count > len(free):
            raise NotEdging(f"{quoted(self.text)}: a part has two {what} edges, not more. {WOULD_DO}")
        self.edges += free[:count]


def _all(read: _Read, match: re.Match[str]) -> None:
    read.edges += [edge for edge in EDGES if edge not in read.edges]


def _named(read: _Read, match: re.Match[str]) -> None:
    edge = {"front": "L1", "back": "L2", "left": "W1", "right": "W2"}.get(match[1], match[1].upper())
    if edge not in read.edges:
        read.edges.append(edge)


_COUNTS = {"one": 1, "two": 2, "both": 2, "a": 1}


def _counted(read: _Read, match: re.Match[str]) -> None:
    said, side, plural = match[1], match[2], match[3] or match[2]
    is_long = side.startswith("l")
    count = 2 if plural.endswith("s") else 1
    if said:
        count = _COUNTS.get(said) or int(said)
    read.add(LONG if is_long else SHORT, count, "long" if is_long else "short")


def _thick(read: _Read, match: re.Match[str]) -> None:
    if read.thickness is not None:
        raise NotEdging(f"{quoted(read.text)} gives two strip thicknesses. {WOULD_DO}")
    try:
        read.thickness = parse_length(match[0].strip(), read.unit)
    except NotALength as error:
        raise NotEdging(str(error)) from error


def _extra(read: _Read, match: re.Match[str]) -> None:
    read.is_extra = True


def _word(read: _Read, match: re.Match[str]) -> None:
    read.words.append(match[0])


def _skip(read: _Read, match: re.Match[str]) -> None:
    pass


_SIDES = r"(long|short|lengths?|widths?|ends?|l|w)"
_WHAT: list[tuple[re.Pattern[str], Callable[[_Read, re.Match[str]], None]]] = [
    (re.compile(pattern), do)
    for pattern, do in (
        (r"[\s,;:+&()×]+|(?:and|on|with|of|strips?|thick)\b", _skip),
        (
            r"(?:all|around|4)(?:[ -]?(?:a?round|four|4))?(?: (?:edges|sides))?\b(?![/.\d])(?! ?(?:mm|in)\b)",
            _all,
        ),
        (r"(l1|l2|w1|w2|front|back|left|right)\b(?: edges?| sides?)?", _named),
        (rf"(?:(both|one|two|a|\d) ?x? ?)?{_SIDES}(?![a-z]|\d+(?![a-z\d]))(?: (edges?|sides?))?", _counted),
        (r"(?:added|extra)\b", _extra),
        (r"(?:[4-9]|1\d)/4\b", _word),  # a quarter names lumber, not a strip
        (r"\d+(?:[ -]\d+/\d+|/\d+|[.,]\d+)?(?: ?(?:mm|in|\"|″))?", _thick),
        (r"[^\W\d][\w'’/-]*", _word),
    )
]
_NONE = {"", "none", "no", "-", "–", "0", "n/a", "raw"}


def parse_edging(text: str, unit: Unit) -> Edging:
    """The edges that a parts list's cell names, in any of the ways lists do. Raises NotEdging.

    A number is the strip's thickness, in `unit` where it says none; "added" says that the listed size is
    without the strips; other words name their wood or the roll.

    >>> parse_edging("2 long 1 short", "in").text, parse_edging("front", "in").text
    ('L1 L2 W1', 'L1')
    >>> parse_edging("all, 6 mm white ash, added", "in")
    Edging(edges=('L1', 'L2', 'W1', 'W2'), thickness=240000, material_text='white ash', is_extra=True)
    """
    plain = " ".join(text.lower().split())
    if plain in _NONE:
        return Edging()
    read, at = _Read(text, unit), 0
    while at < len(plain):
        for pattern, do in _WHAT:
            if match := pattern.match(plain, at):
                do(read, match)
                at = match.end()
                break
        else:
            raise NotEdging(f"{quoted(text)} is not understood from {quoted(plain[at:])} on. {WOULD_DO}")
    if not read.edges:
        raise NotEdging(f"{quoted(text)} names no edge. {WOULD_DO}")
    edges = tuple(edge for edge in EDGES if edge in read.edges)
    return Edging(edges, read.thickness, " ".join(read.words), read.is_extra)


def in_words(edges: tuple[str, ...]) -> str:
    """Edges as one says them.

    >>> in_words(("L1", "L2")), in_words(("L1", "W1", "W2")), in_words(EDGES)
    ('2 long edges', '1 long and 2 short edges', 'all edges')
    """
    long, short = (sum(edge in side for edge in edges) for side in (LONG, SHORT))
    if long + short == 4:
        return "all edges"
    counts = [f"{count} {what}" for count, what in ((long, "long"), (short, "short")) if count]
    return f"{' and '.join(counts)} edge{'' if long + short == 1 else 's'}" if counts else "no edge"


def without_strips(length: int, width: int, edges: tuple[str, ...], strip: int) -> tuple[int, int]:
    """What is left of a size for the panel when strips this thick lie on these edges. Ticks.

    >>> without_strips(100, 50, ("L1", "L2", "W1"), 3)
    (97, 44)
    """
    across = sum(edge in LONG for edge in edges)
    along = sum(edge in SHORT for edge in edges)
    return length - along * strip, width - across * strip


def strip_lengths(length: int, width: int, edges: tuple[str, ...], strip: int) -> dict[str, tuple[int, int]]:
    """How long and how many the strips on a panel of this cut size are, "L" on long and "W" on short edges.

    The long ones run over the ends of those on the short edges.

    >>> strip_lengths(100, 50, ("L1", "L2", "W1"), 3)
    {'L': (103, 2), 'W': (50, 1)}
    """
    across = sum(edge in LONG for edge in edges)
    along = sum(edge in SHORT for edge in edges)
    lengths = {"L": (length + along * strip, across), "W": (width, along)}
    return {side: found for side, found in lengths.items() if found[1]}
