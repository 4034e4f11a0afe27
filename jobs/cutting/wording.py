"""Cut steps in the words of the shop, without saying how a length or a name is set.

What comes out is pieces of a sentence: plain words, lengths and sizes in ticks, names and letters. A page
sets fractions and bold type with them, the printed plan does so in its own way, a test joins them up.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from jobs.cutting.sawn import Sawn
from jobs.cutting.sequence import Outcome, Setting, Step


@dataclass(frozen=True, slots=True)
class Length:
    """One dimension."""

    ticks: int


@dataclass(frozen=True, slots=True)
class Size:
    """Length with the grain, then width."""

    length: int
    width: int


@dataclass(frozen=True, slots=True)
class Name:
    """What the maker calls a part; nothing may be assumed about it."""

    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """The letter that is chalked on a piece that is sawn on later."""

    letter: str


Segment = str | Length | Size | Name | Mark


@dataclass(frozen=True, slots=True)
class Line:
    """One numbered line of the sequence."""

    number: int
    segments: tuple[Segment, ...]


def in_words(steps: Sequence[Step], names: Mapping[str, str]) -> list[Line]:
    """One line a step; ``names`` are the names shown, from part or blank id."""
    wording = _Wording(names)
    return [Line(step.number, _merged(wording.step(step))) for step in steps]


def plain(line: Line, length: Callable[[int], str]) -> str:
    """A line as plain text; ``length`` sets a length.

    >>> plain(Line(1, ("Rip to ", Length(14), ". ", Name("Shelf"))), str)
    'Rip to 14. Shelf'
    """
    return "".join(_plain(segment, length) for segment in line.segments)


def _plain(segment: Segment, length: Callable[[int], str]) -> str:
    match segment:
        case str():
            return segment
        case Length(ticks):
            return length(ticks)
        case Size(long, wide):
            return f"{length(long)} × {length(wide)}"
        case Name(text) | Mark(text):
            return text


def _merged(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    merged: list[Segment] = []
    for segment in segments:
        if isinstance(segment, str) and merged and isinstance(merged[-1], str):
            merged[-1] += segment
        elif segment:
            merged.append(segment)
    return tuple(merged)


def _size(piece: Sawn) -> Size:
    return Size(piece.length, piece.width)


def _joined(clauses: Sequence[list[Segment]], between: str) -> list[Segment]:
    joined: list[Segment] = []
    for clause in clauses:
        joined += [between, *clause] if joined else clause
    return joined


def _sentence_case(segments: list[Segment]) -> list[Segment]:
    first = segments[0]
    return [first[:1].upper() + first[1:], *segments[1:]] if isinstance(first, str) else segments


def _times(setting: Setting) -> list[Segment]:
    return [f"{setting.count} × ", Length(setting.size)] if setting.count > 1 else [Length(setting.size)]


def _verb(setting: Setting) -> str:
    if setting.from_far_edge:
        return f"from the far {'edge' if setting.cut == 'rip' else 'end'} {setting.cut} "
    return f"{setting.cut} "


def _measured(setting: Setting) -> list[Segment]:
    return [Length(setting.size), " wide" if setting.cut == "rip" else " long"]


def _last_is_free(setting: Setting) -> str:
    return "; the last needs no cut" if 0 < setting.cuts < setting.count else ""


@dataclass(frozen=True, slots=True)
class _Wording:
    names: Mapping[str, str]

    def step(self, step: Step) -> list[Segment]:
        if step.kind == "trim":
            return ["Trim ", Length(step.trim), " off all four edges: ", _size(step.piece), " is left."]
        if step.kind == "whole":
            return self._whole(step.piece)
        sentences = [self._sentence(setting, of_sheet=not step.mark) for setting in step.settings]
        if step.mark:
            sentences = [[*self._in_hand(step), *sentences[0]], *sentences[1:]]
        return _joined([_sentence_case(sentence) for sentence in sentences], " ")

    def _whole(self, piece: Sawn) -> list[Segment]:
        if piece.is_item:
            return ["The whole ", _size(piece), " is ", *self._item(piece), ": no cut."]
        if piece.kind == "offcut":
            return ["Nothing more is cut: ", _size(piece), " goes back to the rack."]
        return ["Nothing more is cut: ", _size(piece), " is waste."]

    def _in_hand(self, step: Step) -> list[Segment]:
        start: list[Segment] = ["From ", Mark(step.mark)]
        if step.pieces > 1:
            start = [f"From each of the {step.pieces} pieces ", Mark(step.mark)]
        if step.piece.kind == "blank":
            start += [", ", *self._item(step.piece), ", its parts kept in this order"]
        return [*start, " (", _size(step.piece), "): "]

    def _item(self, piece: Sawn) -> list[Segment]:
        name = Name(self.names.get(piece.key) or piece.key)
        return ["blank ", name] if piece.kind == "blank" else [name]

    # ---- one setting ----

    def _sentence(self, setting: Setting, *, of_sheet: bool) -> list[Segment]:
        first = setting.outcomes[0]
        if setting.is_left and of_sheet and first.kind == "waste":
            return ["left over ", _size(first.piece), ": waste."]
        if setting.is_left and of_sheet and first.kind == "offcut":
            return ["left is an ", *self._rest(setting), "."]
        if of_sheet and len(setting.outcomes) == 1 and first.then:
            return self._strips(setting, first)
        return [*self._clause(setting), "."]

    def _strips(self, setting: Setting, strip: Outcome) -> list[Segment]:
        """A strip of the sheet that is sawn up at once: two sentences or more."""
        if setting.is_left:
            words: list[Segment] = ["left is ", *_measured(setting), ". "]
        elif strip.count == 1:
            words = [f"{_verb(setting)}to ", Length(setting.size), ". "]
        else:
            pieces = "strips" if setting.cut == "rip" else "lengths"
            words = [f"{_verb(setting)}{strip.count} {pieces} to ", Length(setting.size)]
            words += [_last_is_free(setting), ". From each: "]
        sentences = [[*self._clause(inner), "."] for inner in strip.then]
        if strip.count == 1:
            sentences[0] = _sentence_case(sentences[0])
        return [*words, *_joined([sentences[0], *map(_sentence_case, sentences[1:])], " ")]

    def _clause(self, setting: Setting) -> list[Segment]:
        first = setting.outcomes[0]
        if len(setting.outcomes) > 1:
            return self._several(setting)
        if first.kind in ("offcut", "waste"):
            return self._rest(setting)
        if first.piece.is_item:
            return self._freed(setting, first)
        if first.then:
            return self._cut_again(setting, first)
        return self._marked(setting, first)

    def _rest(self, setting: Setting) -> list[Segment]:
        kind, piece = setting.outcomes[0].kind, setting.outcomes[0].piece
        if setting.is_left:
            return ["rest is waste"] if kind == "waste" else ["offcut ", _size(piece), ": label it"]
        start = [_verb(setting), *_times(setting)]
        if kind == "waste":
            return [*start, " off: waste"]
        if setting.count > 1:
            return [*start, ": offcuts ", _size(piece), ", label each"]
        return [*start, ": offcut ", _size(piece), ", label it"]

    def _freed(self, setting: Setting, item: Outcome) -> list[Segment]:
        if setting.is_left:
            return ["left is ", *self._item(item.piece), ", ", *_measured(setting)]
        return [_verb(setting), *_times(setting), " ", *self._item(item.piece), _last_is_free(setting)]

    def _cut_again(self, setting: Setting, piece: Outcome) -> list[Segment]:
        """Pieces that a second cut frees from their offcut or waste."""
        words = ["left is ", *_measured(setting)] if setting.is_left else [_verb(setting), *_times(setting)]
        return [*words, _last_is_free(setting), f", then {self._each(piece)}", *self._trimming(piece)]

    def _each(self, piece: Outcome) -> str:
        return "from each " if piece.count > 1 else ""

    def _trimming(self, piece: Outcome) -> list[Segment]:
        first, *others = [self._clause(inner) for inner in piece.then]
        return [*first, " (", *_joined(others, "; "), ")"] if others else first

    def _marked(self, setting: Setting, piece: Outcome) -> list[Segment]:
        words = ["left is ", *_measured(setting)] if setting.is_left else [_verb(setting), *_times(setting)]
        blank = [", ", *self._item(piece.piece)] if piece.kind == "blank" else []
        mark = "mark each " if piece.count > 1 else "mark it "
        return [*words, *blank, ": ", mark, Mark(piece.mark), _last_is_free(setting)]

    def _several(self, setting: Setting) -> list[Segment]:
        """Pieces of one size that become different things: named in the order they come off."""
        each = _joined([self._one_of(outcome) for outcome in setting.outcomes], ", ")
        return [_verb(setting), *_times(setting), _last_is_free(setting), ", in this order: ", *each]

    def _one_of(self, outcome: Outcome) -> list[Segment]:
        count = f"{outcome.count} " if outcome.count > 1 else ""
        if outcome.piece.is_item:
            return [count, *self._item(outcome.piece)]
        blank = [" (", *self._item(outcome.piece), ")"] if outcome.kind == "blank" else []
        return ["mark ", count, Mark(outcome.mark), *blank]
