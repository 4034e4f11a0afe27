"""Counting rounds: what is seen is noted, differences are shown, resolved in bulk, and posted once."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone

from inventory import handling, labelling, ledger
from inventory.models import Count, CountLine, Movement, Piece, Place, State, Verb
from inventory.models.pieces import PieceQuerySet
from shared import codes
from shared.models import Person
from shared.refusal import Refused

Do = Literal["lose", "label", "move", "put back", "find", "leave"]

WORDS: dict[Do, str] = {
    "lose": "It is lost: write it off",
    "label": "It is here: print its label anew",
    "move": "Write down that it is here",
    "put back": "Put it back on the rack here",
    "find": "It is found",
    "leave": "Leave it as it is",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as the books say: what it is, what may be done, and the likeliest first."""

    code: str
    piece: Piece | None
    seen_in: Place | None
    says: str
    may: tuple[Do, ...]
    value: Decimal = ledger.NOTHING  # what the likeliest would add to the rack's value


@dataclass(frozen=True, slots=True)
class Differences:
    """What a round found: what should be there and isn't, what shouldn't be and is, what nobody knows."""

    seen: int
    expected: int
    missing: list[Difference] = field(default_factory=list)
    out_of_place: list[Difference] = field(default_factory=list)
    unknown: list[Difference] = field(default_factory=list)

    @property
    def all(self) -> list[Difference]:
        return [*self.missing, *self.out_of_place, *self.unknown]


# ---- the round --------------------------------------------------------------------------------------------


def begin(*, place: Place | None, by: Person) -> Count:
    """A round of a place with all within it, or of the whole rack (None); one that is open goes on."""
    return Count.objects.open().filter(place=place).first() or Count.objects.create(place=place, begun_by=by)


@transaction.atomic
def note(*, count: Count, code: str, by: Person, place: Place | None = None) -> tuple[bool, str]:
    """Write down that a label was seen; seen again counts once. Returns whether it differs from the books, and
    what to say of it.

    `place` is where, as its label said; None where only the round's place is known. Refused where the round
    is posted, or the code is none.
    """
    try:
        code = codes.parse_code(code)
    except codes.NotACode as error:
        raise Refused(str(error)) from error
    count = Count.objects.select_for_update().get(pk=count.pk)
    _refuse_if_posted(count)
    piece = Piece.objects.with_all_shown().filter(code=code).first()
    line, _ = CountLine.objects.update_or_create(
        count=count, code=code, defaults={"piece": piece, "place": place, "by": by}
    )
    difference = _of_line(line, piece, _places_of(count.place))
    shown = codes.grouped(code)
    if difference is None:
        return False, f"{shown} is noted, as it should be."
    return True, f"{shown}: {difference.says}."


def place_with(text: str) -> Place | None:
    """The place whose label was scanned, or None where it was another."""
    try:
        return Place.objects.filter(code=codes.parse_code(text)).first()
    except codes.NotACode:
        return None


def _refuse_if_posted(count: Count) -> None:
    if count.posted_at:
        who, on = count.posted_by, timezone.localtime(count.posted_at)
        raise Refused(
            f"This round was posted by {who.shown_name if who else ''} on {on.day} {on:%b %Y, %H:%M}. "
            "Begin a new one."
        )


def _places_of(place: Place | None) -> set[int] | None:
    """The place and all within it; None for the whole rack."""
    if place is None:
        return None
    found = {place.pk}
    within = dict(Place.objects.values_list("pk", "within"))
    while more := {one for one, outer in within.items() if outer in found} - found:
        found |= more
    return found


# ---- what differs -----------------------------------------------------------------------------------------


def expected(count: Count) -> PieceQuerySet:
    """What the books say is there since the round began; what came or went meanwhile is left out."""
    meanwhile = Movement.objects.filter(piece=OuterRef("pk"), at__gt=count.begun_at)
    pieces = Piece.objects.in_rack().exclude(Exists(meanwhile))
    places = _places_of(count.place)
    return pieces if places is None else pieces.filter(place__in=places)


def differences(count: Count) -> Differences:
    """What a round found so far, against the books as they are now."""
    lines = list(count.lines.select_related("place").order_by("id"))
    seen = {line.code for line in lines}
    pieces = {piece.code: piece for piece in Piece.objects.with_all_shown().filter(code__in=seen)}
    places = _places_of(count.place)
    should_be = expected(count)
    unseen = should_be.exclude(code__in=seen).with_all_shown()
    found = Differences(len(lines), should_be.count())
    shapes = {piece.one_with_id or piece.pk: piece for piece in pieces.values() if piece.is_in_shop}
    for piece in unseen.order_by("place__walk_order", "code"):
        found.missing.append(_missing(piece, shapes.get(piece.one_with_id or piece.pk)))
    for line in lines:
        difference = _of_line(line, pieces.get(line.code), places)
        if difference:
            (found.out_of_place if difference.piece else found.unknown).append(difference)
    return found


def _missing(piece: Piece, one_with_it: Piece | None) -> Difference:
    """`one_with_it` is a rectangle of the same odd shape that was seen: then only a label is missing."""
    if one_with_it:
        says = f"is one piece of wood with {one_with_it}, which is here; its own label was not seen"
        return Difference(piece.code, piece, None, says, ("label", "leave"))
    says = f"should be in {piece.place}" if piece.place else "should be on the rack"
    if holder := piece.holder:
        says += f"; held for {holder.number}, so it is written off only after it is released"
        return Difference(piece.code, piece, None, says, ("leave", "label"))
    return Difference(piece.code, piece, None, says, ("lose", "label", "leave"), -piece.value)


def _of_line(line: CountLine, piece: Piece | None, places: set[int] | None) -> Difference | None:
    """What is wrong with a label that was seen; None where nothing is."""
    where = line.place or line.count.place
    if piece is None:
        return Difference(line.code, None, where, "no piece has this code", ("leave",))
    if piece.state == State.ON_RACK:
        is_there = (
            piece.place_id == line.place_id if line.place else places is None or piece.place_id in places
        )
        if is_there or where is None:
            return None
        says = f"belongs in {piece.place}" if piece.place else "had no place yet"
        return Difference(line.code, piece, where, f"{says}, but is here", ("move", "leave"))
    if piece.state == State.PULLED:
        return Difference(line.code, piece, where, "is pulled, but lies on the rack", ("put back", "leave"))
    if piece.state == State.LOST:
        return Difference(line.code, piece, where, "was lost", ("find", "leave"), _lost_value(piece))
    says = f"is {State(piece.state).label}, but its label is here"
    return Difference(line.code, piece, where, says, ("leave",))


def _lost_value(piece: Piece) -> Decimal:
    lost = piece.movements.standing().filter(verb=Verb.LOSE).first()
    return -lost.value if lost else ledger.NOTHING


# ---- posting ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Change:
    """What will be done about one difference."""

    difference: Difference
    do: Do

    @property
    def words(self) -> str:
        return WORDS[self.do]

    @property
    def value(self) -> Decimal:
        """What it adds to the rack's value."""
        return self.difference.value if self.do in ("lose", "find") else ledger.NOTHING


def changes(found: Differences, chosen: Mapping[str, str]) -> list[Change]:
    """What the choices come to, by code; where none was made, the likeliest. Refused where one can't be."""
    made = []
    for difference in found.all:
        do = chosen.get(difference.code) or difference.may[0]
        if do not in difference.may:
            raise Refused(f"{codes.grouped(difference.code)} {difference.says}: this can't be done with it.")
        made.append(Change(difference, do))
    return made


@transaction.atomic
def post(*, count: Count, chosen: Mapping[str, str], by: Person, key: str = "") -> list[Change]:
    """Do what was chosen for each difference, all or nothing, and close the round. Refused the second time.

    Only what was chosen is done: a difference that came up since it was shown stays for the next round.
    """
    count = Count.objects.select_for_update(of=("self",)).get(pk=count.pk)
    _refuse_if_posted(count)
    made = [one for one in changes(differences(count), chosen) if one.difference.code in chosen]
    for change in made:
        _do(change, by=by, key=f"{key[:50]}:{change.difference.code}" if key else "")
    count.posted_by, count.posted_at = by, timezone.now()
    count.save(update_fields=["posted_by", "posted_at"])
    return made


def _do(change: Change, *, by: Person, key: str) -> None:
    piece, place = change.difference.piece, change.difference.seen_in
    if piece is None or change.do == "leave":
        return
    if change.do == "lose":
        handling.lose(piece=piece, by=by, key=key, why="not seen in a count")
    elif change.do == "label":
        labelling.ask_for(piece)
    elif change.do in ("put back", "move") and _went_along(piece, place):
        return
    elif change.do == "put back":
        handling.put_back(piece=piece, place=place, by=by, key=key)
    elif change.do == "find":
        handling.find(piece=piece, place=place, by=by, key=key)
    elif place:
        handling.move(piece=piece, place=place, by=by, key=key)


def _went_along(piece: Piece, place: Place | None) -> bool:
    """Whether it is there by now, as one piece of wood with what was carried there just before."""
    piece.refresh_from_db(fields=["state", "place"])
    return piece.state == State.ON_RACK and piece.place_id == (place.pk if place else None)
