"""The cuts of one layout, in an order a person can follow.

A strip is ripped off and crosscut before the next one, equal strips in a row share one setting of the
fence, and a piece that is sawn on later is marked with a letter, so that nobody looks for it by its size.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Literal

from jobs.cutting.problem import Cut
from jobs.cutting.sawn import Kind, Sawn

REST: tuple[Kind, ...] = ("offcut", "waste")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What comes off the saw at one setting: so many of the same thing.

    A ``cut`` or ``blank`` with a mark is sawn on in the step that names the mark; with ``then`` it is sawn
    on at once, each piece alike.
    """

    count: int
    kind: Kind
    piece: Sawn
    mark: str = ""
    then: tuple["Setting", ...] = ()


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the fence or stop, the saw cuts made at it and what they free.

    ``size`` is what the fence is set to; ``across`` is how long each cut runs. ``cuts`` is one less than the
    pieces where the last one is what is left, and none where there is nothing to cut.
    """

    cut: Cut
    size: int
    across: int
    cuts: int
    outcomes: tuple[Outcome, ...]
    from_far_edge: bool = False

    @property
    def count(self) -> int:
        return sum(outcome.count for outcome in self.outcomes)

    @property
    def is_left(self) -> bool:
        """Nothing is cut: this is what the cuts before it left."""
        return self.cuts == 0


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered line: the piece in hand and the settings it is sawn at.

    ``kind`` is ``trim`` for the factory edges, ``whole`` where the stock is used as it is, else ``saw``.
    ``mark`` is the letter of the piece in hand, nothing for the sheet; ``pieces`` is how many wear it.
    """

    number: int
    kind: Literal["trim", "whole", "saw"]
    piece: Sawn
    settings: tuple[Setting, ...] = ()
    mark: str = ""
    pieces: int = 1
    trim: int = 0


def steps(sheet: Sawn, *, kerf: int, least_to_rip: int = 0, least_to_crosscut: int = 0) -> list[Step]:
    """The steps that saw a sheet up, trim cuts first.

    sheet is what ``saw_up`` returns. Cuts go from the corner, as drawn, unless the last rip would then be on
    a piece narrower than ``least_to_rip``, or the last crosscut on one shorter than ``least_to_crosscut``:
    then the largest piece is left for last and those beyond it are sawn from the far edge, where that helps.
    """
    return _Sequence(kerf, {"rip": least_to_rip, "crosscut": least_to_crosscut}).steps(sheet)


def settings(sequence: Sequence[Step]) -> int:
    """How often the fence or stop is set: once for each direction of the trim cuts, then as the steps say."""
    trims = sum(2 for step in sequence if step.kind == "trim")
    return trims + sum(1 for setting, _ in all_settings(sequence) if setting.cuts)


def cut_length(sequence: Sequence[Step]) -> int:
    """The length of all saw cuts together."""
    trims = sum(
        2 * (step.piece.length + 2 * step.trim + step.piece.width) for step in sequence if step.kind == "trim"
    )
    return trims + sum(times * setting.cuts * setting.across for setting, times in all_settings(sequence))


def all_settings(sequence: Sequence[Step]) -> Iterator[tuple[Setting, int]]:
    """Every setting, nested ones too, with the number of alike pieces that are sawn at it."""
    for step in sequence:
        for setting in step.settings:
            yield from _with_nested(setting, step.pieces)


def _with_nested(setting: Setting, times: int) -> Iterator[tuple[Setting, int]]:
    yield setting, times
    for outcome in setting.outcomes:
        for nested in outcome.then:
            yield from _with_nested(nested, times * outcome.count)


def shape(piece: Sawn) -> tuple[object, ...]:
    """All that matters of a piece but its place: pieces of the same shape are sawn alike."""
    within = tuple(shape(child) for child in piece.of)
    return piece.kind, piece.key, piece.turned, piece.length, piece.width, piece.cut, piece.left, within


def letters() -> Iterator[str]:
    """Marks for pieces: A to Z, then AA, AB and so on."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    yield from alphabet
    for first in letters():
        for second in alphabet:
            yield first + second


class _Sequence:
    def __init__(self, kerf: int, least: Mapping[Cut, int]) -> None:
        self.kerf, self.least = kerf, least
        self.marks = letters()
        self.made: list[Step] = []

    def steps(self, sheet: Sawn) -> list[Step]:
        if sheet.x > 0:
            self._add("trim", sheet, trim=sheet.x)
        if sheet.cut is None:
            self._add("whole", sheet)
            return self.made
        for row in self._rows(sheet):
            setting, marked = self._setting(sheet, row, at_once=True)
            if setting.is_left and row.pieces[0].kind == "waste" and self.made[-1].piece is sheet:
                self._append(setting)
                continue
            self._add("saw", sheet, settings=(setting,))
            self._saw_marked(marked)
        return self.made

    def _add(
        self,
        kind: Literal["trim", "whole", "saw"],
        piece: Sawn,
        *,
        settings: tuple[Setting, ...] = (),
        mark: str = "",
        pieces: int = 1,
        trim: int = 0,
    ) -> None:
        self.made.append(Step(len(self.made) + 1, kind, piece, settings, mark, pieces, trim))

    def _append(self, setting: Setting) -> None:
        last = self.made.pop()
        self._add("saw", last.piece, settings=(*last.settings, setting))

    def _saw_marked(self, outcomes: Sequence[Outcome]) -> None:
        for outcome in outcomes:
            made = [self._setting(outcome.piece, row, at_once=False) for row in self._rows(outcome.piece)]
            self._add(
                "saw",
                outcome.piece,
                settings=tuple(setting for setting, _ in made),
                mark=outcome.mark,
                pieces=outcome.count,
            )
            for _, marked in made:
                self._saw_marked([_times(inner, outcome.count) for inner in marked])

    def _rows(self, piece: Sawn) -> list["_Row"]:
        """Pieces of one size next to one another, in the order they are sawn."""
        assert piece.cut is not None
        rows = []
        for (size, _, far), turns in groupby(_turns(piece, self.kerf, self.least[piece.cut]), key=_row_key):
            row = list(turns)
            rows.append(_Row(size, far, tuple(turn.piece for turn in row), sum(turn.cuts for turn in row)))
        return rows

    def _setting(self, whole: Sawn, row: "_Row", *, at_once: bool) -> tuple[Setting, list[Outcome]]:
        """The setting for a row, and those of its pieces that are marked and sawn in steps of their own."""
        assert whole.cut is not None
        runs = [list(run) for _, run in groupby(row.pieces, key=shape)]
        marked: dict[tuple[object, ...], Outcome] = {}
        # Pieces of one size that become different things are told apart by marks and sawn on later.
        is_alike = len(runs) == 1
        outcomes = [self._outcome(run, is_alike and (at_once or _frees_one(run[0])), marked) for run in runs]
        across = whole.length if whole.cut == "rip" else whole.width
        setting = Setting(whole.cut, row.size, across, row.cuts, tuple(outcomes), row.from_far_edge)
        return setting, list(marked.values())

    def _outcome(self, run: list[Sawn], at_once: bool, marked: dict[tuple[object, ...], Outcome]) -> Outcome:
        piece = run[0]
        if piece.cut is None:
            return Outcome(len(run), piece.kind, piece)
        if piece.kind == "cut" and at_once:
            then = []
            for row in self._rows(piece):
                setting, inner = self._setting(piece, row, at_once=False)
                then.append(setting)
                # Two places on the sheet never share a key here: their marks differ.
                marked |= {(outcome.mark,): _times(outcome, len(run)) for outcome in inner}
            return Outcome(len(run), piece.kind, piece, then=tuple(then))
        known = marked.get(shape(piece))
        outcome = Outcome(len(run), piece.kind, piece, mark=known.mark if known else next(self.marks))
        marked[shape(piece)] = replace(outcome, count=len(run) + (known.count if known else 0))
        return outcome


@dataclass(frozen=True, slots=True)
class _Row:
    size: int
    from_far_edge: bool
    pieces: tuple[Sawn, ...]
    cuts: int


@dataclass(frozen=True, slots=True)
class _Turn:
    """A piece when it is its turn to be freed: by one cut, or by none where it is what is left."""

    piece: Sawn
    size: int
    cuts: int
    from_far_edge: bool = False


def _row_key(turn: _Turn) -> tuple[int, bool, bool]:
    return turn.size, turn.piece.kind in REST, turn.from_far_edge


def _turns(piece: Sawn, kerf: int, least: int) -> list[_Turn]:
    assert piece.cut is not None
    sizes = [child.along(piece.cut) for child in piece.of]
    last = len(sizes) - 1
    needs_last_cut = piece.left > 0 and piece.of[last].kind not in REST
    turns = [
        _Turn(child, size, int(index < last or needs_last_cut))
        for index, (child, size) in enumerate(zip(piece.of, sizes, strict=True))
    ]
    largest = sizes.index(max(sizes))
    # From the far edge only where nothing is left over: else the pieces beyond lie elsewhere than drawn.
    if piece.left > 0 or largest == last or sizes[last - 1] + kerf + sizes[last] >= least:
        return turns
    neighbour = sizes[largest + 1]
    if neighbour + kerf + sizes[largest] < least:
        return turns
    beyond = [_Turn(turn.piece, turn.size, 1, from_far_edge=True) for turn in reversed(turns[largest + 1 :])]
    return [*turns[:largest], *beyond, _Turn(piece.of[largest], sizes[largest], 0)]


def _times(outcome: Outcome, times: int) -> Outcome:
    return replace(outcome, count=outcome.count * times)


def _frees_one(piece: Sawn) -> bool:
    """A last cut that frees one part from its offcut or waste."""
    items = [child for child in piece.of if child.is_item]
    return len(items) == 1 and len(piece.of) <= 2 and not any(child.cut for child in piece.of)
