"""What stands in one cell of a parts list: how many, a length, the way of the grain, other materials."""

import re

from jobs.partslist.words import COUNT_WORDS, GRAIN_WORDS, NO_WORDS, YES_WORDS, Grain
from shared.measure import Unit, parse_length
from shared.quoting import quoted

MOST_OF_A_PART = 9_999

_HOW_MANY_WOULD_DO = "Write a whole number from 1 to 9999, such as 2."
_COUNT = re.compile(r"(?:x ?)?([0-9]{1,9})(?:\.0+)? ?(?:x|×|([^\W\d]+)\.?)?", re.IGNORECASE)
# Month names in the languages of `words`, as far as spreadsheets shorten them.
_MONTH = (
    r"(?:jan|ene|feb|fev|fév|mar|mär|mrz|apr|avr|abr|mai|may|jun|juin|jul|juil|aug|aou|aoû|ago|sep|oct|okt|nov|dec"
    r"|dez|déc|dic)[^\W\d]*\.?"
)
_DATE = re.compile(
    r"\d{4}-\d{1,2}-\d{1,2}(?: [\d:]+)?"  # 2026-03-04
    r"|\d{1,2}([/.])\d{1,2}\1\d{2,4}"  # 3/4/2026, 4.3.2026
    rf"|\d{{1,2}}[-. ]{{1,2}}{_MONTH}(?:[- ]\d{{2,4}})?"  # 4-Mar, 4. März 2026
    rf"|{_MONTH}[- ]\d{{2,4}}",  # Mar-04
    re.IGNORECASE,
)
_OR = re.compile(r"[\n|]|\s+or\s+", re.IGNORECASE)


class NotUnderstood(ValueError):  # noqa: N818 - it carries a sentence for a person
    """A cell says something that can't be used; `str(error)` says what would do."""


def one_line(text: str) -> str:
    """The text with every run of blanks and line ends as one space."""
    return " ".join(text.split())


def parse_quantity(text: str) -> int:
    """How many, as people write it: 2, x2, 2x, 2 pcs. Raises NotUnderstood for anything else.

    >>> parse_quantity("2 pcs"), parse_quantity("x12")
    (2, 12)
    """
    if not text:
        raise NotUnderstood(f"it does not say how many. {_HOW_MANY_WOULD_DO}")
    match = _COUNT.fullmatch(one_line(text))
    known = match and (match[2] or "pcs").casefold() in COUNT_WORDS
    if not (match and known and 1 <= int(match[1]) <= MOST_OF_A_PART):
        raise NotUnderstood(f"{quoted(text)} is not how many. {_HOW_MANY_WOULD_DO}")
    return int(match[1])


def parse_size(text: str, unit: Unit) -> int:
    """A length in ticks, as `parse_length`, which also knows what a spreadsheet makes of 3/4.

    Raises NotUnderstood or NotALength.
    """
    if _DATE.fullmatch(text):
        raise turned_into_a_date(text)
    return parse_length(text, unit)


def turned_into_a_date(text: str) -> NotUnderstood:
    """The error for a size that became a date: to a spreadsheet 3/4 is a day in March or April."""
    return NotUnderstood(
        f"the spreadsheet has turned what was typed into a date ({quoted(text)}). "
        "Format the column as text and type the size again, such as 3/4."
    )


def parse_grain(text: str) -> Grain:
    """Which way the grain runs. Raises NotUnderstood.

    >>> parse_grain("along"), parse_grain("Across"), parse_grain("")
    ('length', 'width', 'default')
    """
    way = GRAIN_WORDS.get(one_line(text).casefold())
    if way is None:
        raise NotUnderstood(f"{quoted(text)} is no way for the grain to run. Write length, width or any.")
    return way


def parse_yes(text: str) -> bool:
    """Whether a cell says yes; an empty one says no. Raises NotUnderstood.

    >>> parse_yes("Yes"), parse_yes("x"), parse_yes("")
    (True, True, False)
    """
    said = one_line(text).casefold()
    if said not in YES_WORDS | NO_WORDS:
        raise NotUnderstood(f"{quoted(text)} says neither yes nor no. Write yes, or leave it empty.")
    return said in YES_WORDS


def alternatives(text: str) -> tuple[str, ...]:
    """The materials in a cell that may name several: parted by semicolons, bars, line ends or the word "or".

    Not by commas, which stand inside names ("plywood, white oak"). Where there is a semicolon only that
    parts, so that a name with "or" in it can be written. The inverse of `alternatives_text`.

    >>> alternatives("ash or hard maple"), alternatives("poplar; pine")
    (('ash', 'hard maple'), ('poplar', 'pine'))
    """
    several = text.split(";") if ";" in text else _OR.split(text)
    return tuple(name for part in several if (name := one_line(part)))


def alternatives_text(names: tuple[str, ...]) -> str:
    """The cell that `alternatives` reads these names from, as long as none has a semicolon in it.

    >>> alternatives_text(("ash", "oak or elm")), alternatives_text(("oak or elm",))
    ('ash; oak or elm', 'oak or elm;')
    """
    text = "; ".join(names)
    return text if alternatives(text) == tuple(map(one_line, names)) else f"{text};"
