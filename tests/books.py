"""The shop's books kept by hand: what the ledger is held against.

Plain Python that shares no code with the ledger: pieces and lots of goods in dictionaries, and a list of what
happened. It says for every step whether it may be done and what must be true afterwards.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Any

NO, NOTHING = Decimal(0), Decimal("0.00")
RACK, PULLED, USED, SCRAPPED, LOST, SOLD, VOID = "rack", "pulled", "used", "scrapped", "lost", "sold", "void"
HERE = (RACK, PULLED)


def to_cents(amount: Fraction) -> Decimal:
    """Rounded half even."""
    return Decimal(round(amount * 100)) / 100


def down_to_cents(amount: Fraction) -> Decimal:
    return Decimal(int(amount * 100)) / 100


@dataclass
class PieceByHand:
    """One piece. Sizes in ticks; `place` a primary key; `held_for` a job's number."""

    pk: int
    length: int
    width: int
    kind: str
    material: int
    state: str = VOID
    place: int | None = None
    value: Decimal = NOTHING
    parent: int | None = None
    held_for: str = ""

    @property
    def area(self) -> int:
        return self.length * self.width


@dataclass
class LotByHand:
    """Goods of one line of a receipt."""

    pk: int
    material: int
    received: Decimal
    cost: Decimal
    left: Decimal = Decimal(0)
    value: Decimal = NOTHING


@dataclass
class Step:
    """What one event did to one thing."""

    thing: PieceByHand | LotByHand
    value: Decimal = NOTHING
    account: str = ""
    quantity: Decimal = Decimal(0)
    before: tuple[str, int | None] = ("", None)
    after: tuple[str, int | None] = ("", None)


@dataclass
class Event:
    """One tap: a verb and what it did. `movement` is the primary key of its first row in the ledger."""

    verb: str
    movement: int
    steps: list[Step]
    job: str = ""
    is_undone: bool = False
    extra: Any = None


@dataclass
class Books:
    """All of it."""

    keep_rate: Fraction
    is_averaged: bool = False
    pieces: dict[int, PieceByHand] = field(default_factory=dict)
    lots: dict[int, LotByHand] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    accounts: dict[str, Decimal] = field(default_factory=lambda: defaultdict(lambda: NOTHING))
    charged: dict[str, Decimal] = field(default_factory=lambda: defaultdict(lambda: NOTHING))

    # ---- writing ------------------------------------------------------------------------------------------

    def write(
        self, verb: str, movement: int, steps: Iterable[Step], *, job: str = "", extra: Any = None
    ) -> Event:
        """Something happened."""
        event = Event(verb, movement, list(steps), job, extra=extra)
        for step in event.steps:
            self._apply(step, job)
        self.events.append(event)
        return event

    def _apply(self, step: Step, job: str) -> None:
        thing = step.thing
        thing.value += step.value
        if step.account:
            self.accounts[step.account] += step.value
        if step.account == "job":
            self.charged[job] -= step.value
        if isinstance(thing, PieceByHand):
            thing.state, thing.place = step.after
        else:
            thing.left += step.quantity

    def piece_step(
        self,
        piece: PieceByHand,
        state: str,
        place: int | None = None,
        *,
        value: Decimal = NOTHING,
        account: str = "",
    ) -> Step:
        """A piece comes into a state; `value` is what it gains."""
        return Step(
            piece, value, account if value else "", before=(piece.state, piece.place), after=(state, place)
        )

    def undo(self, event: Event) -> None:
        """The same amounts the other way."""
        for step in event.steps:
            back = Step(
                step.thing, -step.value, step.account, -step.quantity, before=step.after, after=step.before
            )
            self._apply(back, event.job)
        event.is_undone = True

    # ---- asking -------------------------------------------------------------------------------------------

    def standing(self) -> list[Event]:
        return [event for event in self.events if not event.is_undone]

    def last_place(self, piece: PieceByHand, verb: str) -> int | None:
        """Where a piece was when this was last done to it."""
        return self._last(piece, verb).before[1]

    def last_value(self, piece: PieceByHand, verb: str) -> Decimal:
        return -self._last(piece, verb).value

    def _last(self, piece: PieceByHand, verb: str) -> Step:
        return next(
            step
            for event in reversed(self.standing())
            if event.verb == verb
            for step in event.steps
            if step.thing is piece
        )

    def offcut_value(self, piece: PieceByHand, area: int) -> Decimal:
        """An offcut's share of what the piece carries, down to the cent."""
        return down_to_cents(Fraction(piece.value) * self.keep_rate * area / piece.area)

    def may_undo(self, event: Event) -> bool:
        """The last thing that happened to something may be taken back; goods need not come back in order."""
        if event.is_undone or event.verb in ("hold", "release"):
            return False
        return all(self._may_undo_step(event, step) for step in event.steps)

    def _may_undo_step(self, event: Event, step: Step) -> bool:
        later = [
            other
            for other in self.events[self.events.index(event) + 1 :]
            if not other.is_undone and any(one.thing is step.thing for one in other.steps)
        ]
        if isinstance(step.thing, PieceByHand):
            leaves_the_shop = step.before[0] not in HERE
            return not later and not (leaves_the_shop and step.thing.held_for)
        if event.verb == "issue":
            later = [other for other in later if other.verb == "goods back" and other.job == event.job]
        elif event.verb == "goods back":
            later = []
        left, value = step.thing.left - step.quantity, step.thing.value - step.value
        return not later and left >= 0 and value >= 0 and (left > 0 or value == 0)

    # ---- goods --------------------------------------------------------------------------------------------

    def with_some_left(self) -> list[LotByHand]:
        """First in first."""
        return [lot for lot in sorted(self.lots.values(), key=lambda one: one.pk) if lot.left]

    def first_out(self, quantity: Decimal) -> list[tuple[LotByHand, Decimal, Decimal]]:
        """Lots that give a quantity, first in first out: how much, at which share of what they carry."""
        out = []
        for lot in self.with_some_left():
            taken = min(lot.left, quantity)
            if taken:
                out.append((lot, taken, to_cents(Fraction(lot.value) * Fraction(taken) / Fraction(lot.left))))
            quantity -= taken
        return out

    def with_the_job(self, job: str) -> list[tuple[LotByHand, Decimal, Decimal]]:
        """Goods a job still has: lot, how many, at what worth; the latest lot first."""
        found = []
        for lot in sorted(self.lots.values(), key=lambda one: -one.pk):
            steps = self._steps_of(lot, job, "issue", "goods back")
            out, worth = (
                -sum((one.quantity for one in steps), NO),
                -sum((one.value for one in steps), NOTHING),
            )
            if out or worth:
                found.append((lot, out, worth))
        return found

    def missed(self) -> tuple[Decimal, Decimal]:
        """How many goods counts found missing and not again, and what was written off for them."""
        steps = [step for lot in self.lots.values() for step in self._steps_of(lot, "", "lose", "find")]
        return -sum((one.quantity for one in steps), NO), -sum((one.value for one in steps), NOTHING)

    def _steps_of(self, lot: LotByHand, job: str, *verbs: str) -> list[Step]:
        return [
            step
            for event in self.standing()
            if event.verb in verbs and event.job == job
            for step in event.steps
            if step.thing is lot
        ]

    # ---- the first rule -----------------------------------------------------------------------------------

    def carried(self) -> Decimal:
        """What is on the rack and the shelves."""
        things: list[PieceByHand | LotByHand] = [*self.pieces.values(), *self.lots.values()]
        return sum((thing.value for thing in things), NOTHING)
