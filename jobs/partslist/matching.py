"""What a parts list calls a material, to the shop's own materials.

A material is taken without asking only by its own name, by a name remembered for it, or where it is the only
one of that thickness which all the words fit. Anything else is asked once, and the answer remembered.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from typing import Literal

from jobs.partslist.cells import one_line
from shared.measure import TICKS_PER_INCH, NotALength, Unit, exact_text, parse_length

MOST_SUGGESTIONS = 5

Kind = Literal["sheet", "lumber", "goods"]
TakenBy = Literal["name", "remembered", "words"]

# Common practice, no source.
_SAME_WORD = {
    **dict.fromkeys(("ply", "plywd", "pw"), "plywood"),
    **dict.fromkeys(("ven", "veneered"), "veneer"),
    "mel": "melamine",
}
_SAYS_NOTHING = {"a", "and", "in", "inch", "mm", "of", "the", "thick"}
_OFTEN_LEFT_OUT = {"board", "core", "faced", "grade", "lumber", "panel", "sheet", "solid", "veneer", "wood"}
_SIZE = re.compile(
    r"""(?<![\w./])((?:\d+[ -])?\d+ ?/ ?\d+|\d*\.\d+|\d+)(?: ?(mm|inch|in|")(?!\w))?(?![\w./])"""
)
_QUARTERS = re.compile(r"\d+ ?/ ?4")
_WORD = re.compile(r"[^\W_]+")
_TYPING_SLIP = 0.75
_LEAST_LIKENESS = 0.45
_LIKENESS_OF_NO_WORDS = 0.3  # enough where the thickness is the same
_NEARLY_AS_THICK = TICKS_PER_INCH // 16  # 19 mm or 18 mm may be what a list drawn in inches means by 3/4


@dataclass(frozen=True, slots=True)
class Candidate:
    """A material of the shop. `thickness_text` is as the trade says it: 3/4, 18 mm, 5/4."""

    id: int
    name: str
    kind: Kind
    species: str = ""
    core: str = ""
    thickness_text: str = ""
    other_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Match:
    """The id of the material to take and by what, or of those to choose from, likeliest first, or neither."""

    taken: int | None = None
    by: TakenBy | None = None
    suggestions: tuple[int, ...] = ()


def match(text: str, thickness: int | None, candidates: Sequence[Candidate], unit: Unit = "in") -> Match:
    """The material that one text means; `thickness` is the list's own, in ticks, where it gives one.

    Bare numbers in names are in `unit`, the shop's, and fractions in inches.
    """
    return Matcher(candidates, unit).match(text, thickness)


def remembered_as(text: str, thickness: int | None, unit: Unit = "in") -> str:
    """The name to remember an answer under, so that the same text and thickness is not asked for again.

    >>> remembered_as("white oak ply", 19 * 40_000, "mm")
    'white oak ply (19 mm thick)'
    """
    name = one_line(text)
    return name if thickness is None else f"{name} ({exact_text(thickness, unit)} {unit} thick)"


class Matcher:
    """The shop's materials, prepared to be asked for many texts."""

    def __init__(self, candidates: Iterable[Candidate], unit: Unit = "in") -> None:
        self.unit = unit
        # No part is cut from hinges or glue.
        self._known = [_Known(candidate, unit) for candidate in candidates if candidate.kind != "goods"]

    def match(self, text: str, thickness: int | None = None) -> Match:
        """The material that a text means; see `match`."""
        if not text.strip():
            return Match()
        answer = _plain(remembered_as(text, thickness, self.unit))
        said = _Said.of(text, self.unit)
        ways: tuple[tuple[TakenBy, Callable[[_Known], bool]], ...] = (
            ("remembered", lambda known: answer in known.answers),
            ("name", lambda known: known.is_called(said, thickness)),
            ("remembered", lambda known: known.is_also_called(said, thickness)),
            ("words", lambda known: known.is_meant_by(said, thickness)),
        )
        for by, fits in ways:
            found = [known.id for known in self._known if fits(known)]
            if len(found) == 1:
                return Match(taken=found[0], by=by)
            if found:
                break
        return Match(suggestions=self._suggestions(said, thickness))

    def _suggestions(self, said: "_Said", thickness: int | None) -> tuple[int, ...]:
        rated = [(known.likeness(said, thickness), known) for known in self._known]
        likely = [(rate, known) for rate, known in rated if rate >= _LEAST_LIKENESS]
        likely.sort(key=lambda rated: (-rated[0], rated[1].name.words, rated[1].id))
        return tuple(known.id for _, known in likely[:MOST_SUGGESTIONS])


@dataclass(frozen=True, slots=True)
class _Said:
    """A name as names are compared: its words, the thickness in it, and whether that is a quarter (5/4)."""

    words: tuple[str, ...]
    thickness: int | None = None
    is_quarter: bool = False

    @classmethod
    def of(cls, text: str, unit: Unit) -> "_Said":
        text = _plain(text)
        thickness, is_quarter = None, False
        for size in _SIZE.finditer(text):
            if thickness := _thickness_in(size, unit):
                text = f"{text[: size.start()]} {text[size.end() :]}"
                is_quarter = _QUARTERS.fullmatch(size[0]) is not None
                break
        words = [_SAME_WORD.get(word, word) for word in _WORD.findall(text)]
        return cls(tuple(word for word in words if word not in _SAYS_NOTHING), thickness, is_quarter)


class _Known:
    """A candidate as it is compared."""

    def __init__(self, candidate: Candidate, unit: Unit) -> None:
        self.id = candidate.id
        self.is_sheet = candidate.kind == "sheet"
        self.name = _Said.of(candidate.name, unit)
        self.answers = {_plain(name) for name in candidate.other_names}
        self.others = [_Said.of(name, unit) for name in candidate.other_names]
        self.thickness = _ticks(candidate.thickness_text, unit) or self.name.thickness
        self.is_quarter = _QUARTERS.fullmatch(candidate.thickness_text) is not None or self.name.is_quarter
        core = set(_Said.of(candidate.core, unit).words)
        named = frozenset(self.name.words)
        self.must = named - core - _OFTEN_LEFT_OUT or named
        self.may = self.must | core | named | set(_Said.of(candidate.species, unit).words)

    def is_called(self, said: _Said, thickness: int | None) -> bool:
        """Whether a text is this material's own name, and no thickness speaks against it."""
        return said.words == self.name.words and self._agrees(self.name, said, thickness)

    def is_also_called(self, said: _Said, thickness: int | None) -> bool:
        """The same for the other names it is known by."""
        return any(
            other.words == said.words and self._agrees(other, said, thickness) for other in self.others
        )

    def is_meant_by(self, said: _Said, thickness: int | None) -> bool:
        """Whether all the words fit, none that tells is missing, and the thickness is the same."""
        wanted = self._wanted(said, thickness)
        if wanted is None or wanted != self.thickness or self._contradicts(said, thickness):
            return False
        return bool(said.words) and self.must <= set(said.words) <= self.may

    def _agrees(self, name: _Said, said: _Said, thickness: int | None) -> bool:
        wanted = self._wanted(said, thickness)
        if self._contradicts(said, thickness):
            return False
        if name.thickness is not None:
            return wanted == name.thickness
        return wanted is None or self.thickness is None or wanted == self.thickness

    def _wanted(self, said: _Said, thickness: int | None) -> int | None:
        """How thick the material is by what the list says, as far as it does."""
        if self.is_sheet:
            return said.thickness if said.thickness is not None else thickness
        # Lumber is planed down to its part: ash of 1 in may be 5/4, so that only a quarter names a quarter.
        return said.thickness if said.is_quarter == self.is_quarter else None

    def _contradicts(self, said: _Said, thickness: int | None) -> bool:
        """Whether the text names a thickness that this material, or its part, can't have."""
        if said.thickness is None:
            return False
        if self.is_sheet:
            return thickness not in (None, said.thickness)
        return said.is_quarter != self.is_quarter

    def likeness(self, said: _Said, thickness: int | None) -> float:
        """How near a text comes, about 0 to 1.2: words that fit, words that are missing, thickness."""
        others = ((frozenset(other.words), frozenset(other.words)) for other in self.others)
        words = max(_words_alike(said.words, must, may) for must, may in ((self.must, self.may), *others))
        return words + self._thickness_likeness(said, thickness)

    def _thickness_likeness(self, said: _Said, thickness: int | None) -> float:
        wanted = self._wanted(said, thickness)
        part = said.thickness or thickness
        if self.thickness is None or part is None:
            return 0.0
        if wanted is not None:
            apart = abs(self.thickness - wanted)
            return 0.2 if apart == 0 else 0.1 if apart <= _NEARLY_AS_THICK else -0.1
        # A part comes from any lumber that is thicker, best from the next.
        spare = (self.thickness - part) / TICKS_PER_INCH
        return 0.2 - 0.05 * min(spare, 2) if spare > 0 else -0.1


def _words_alike(said: Sequence[str], must: frozenset[str], may: frozenset[str]) -> float:
    """How many of the words said are the material's, and how many of its own were said; 0 to 1."""
    if not said:
        return _LIKENESS_OF_NO_WORDS
    if not may:
        return 0.0
    fitting = sum(max(_alike(word, other) for other in may) for word in said) / len(said)
    covered = sum(max(_alike(word, other) for other in said) for word in must) / max(len(must), 1)
    return 0.6 * fitting + 0.4 * covered


@lru_cache(maxsize=20_000)
def _alike(word: str, other: str) -> float:
    if word == other:
        return 1.0
    ratio = SequenceMatcher(None, word, other, autojunk=False).ratio()
    return ratio if ratio >= _TYPING_SLIP else 0.0


def _plain(text: str) -> str:
    """Lower case without accents, and with every fraction and inch sign spelled out."""
    spelled = unicodedata.normalize("NFKD", re.sub(r"([½¼¾⅛⅜⅝⅞])", r" \1", text).replace("″", '"'))
    plain = "".join(sign for sign in spelled if not unicodedata.combining(sign))
    return one_line(plain.replace("\N{FRACTION SLASH}", "/").casefold())


def _thickness_in(size: re.Match[str], unit: Unit) -> int | None:
    number, own_unit = size.groups()
    # A bare whole number is a thickness in mm (18), but in inches more likely a grade or a ply count.
    if number.isdigit() and not own_unit and unit == "in":
        return None
    return _ticks(size[0], "in" if "/" in number else unit)


def _ticks(text: str, unit: Unit) -> int | None:
    try:
        return parse_length(text, "in" if "/" in text else unit)
    except NotALength:
        return None
