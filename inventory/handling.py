"""What happens to a piece besides cutting: pulled, put back, moved, scrapped, lost, found, sold.

The rectangles of an odd shape are one piece of wood until they are sawn apart: where one is carried, the others
go along, and come back along when that is undone.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory import ledger
from inventory.models import Account, Movement, Piece, Place, State, Verb
from shared.models import Person
from shared.refusal import Refused


@transaction.atomic
def pull(*, piece: Piece, by: Person, key: str = "", job_number: str = "") -> Movement:
    """Take a piece off the rack. Refused where it isn't there or is held for another job."""
    if done := ledger.already(by, key):
        return done
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.ON_RACK], "pulled")
    ledger.refuse_if_held_for_another(piece, job_number)
    return _carry(piece, verb=Verb.PULL, by=by, key=key, to_state=State.PULLED, job_number=job_number)


def _carry(
    piece: Piece, *, to_state: State, to_place: Place | None = None, key: str, **common: Any
) -> Movement:
    """Record what is done to a piece, and to what is one piece of wood with it and lies where it does."""
    along = [other for other in piece.still_one_with if other.state == piece.state]
    done = ledger.record(piece=piece, key=key, to_state=to_state, to_place=to_place, **common)
    for other in along:
        piece = ledger.locked(other)
        ledger.record(piece=piece, to_state=to_state, to_place=to_place, part_of=done, **common)
    return done


@transaction.atomic
def put_back(*, piece: Piece, by: Person, place: Place | None = None, key: str = "") -> Movement:
    """Put a pulled piece back on the rack: to a place, or where it was pulled from."""
    if done := ledger.already(by, key):
        return done
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.PULLED], "put back")
    place = place or pulled_from(piece)
    return _carry(piece, verb=Verb.RETURN, by=by, key=key, to_state=State.ON_RACK, to_place=place)


def pulled_from(piece: Piece) -> Place | None:
    """Where a pulled piece was pulled from, or None."""
    pulled = piece.movements.standing().filter(verb=Verb.PULL).select_related("from_place").first()
    return pulled.from_place if pulled else None


@transaction.atomic
def move(*, piece: Piece, place: Place, by: Person, key: str = "") -> Movement:
    """Move a piece on the rack to another place."""
    if done := ledger.already(by, key):
        return done
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.ON_RACK], "moved")
    if piece.place_id == place.pk:
        raise Refused(f"{piece} is in {place} already.")
    return _carry(piece, verb=Verb.MOVE, by=by, key=key, to_state=State.ON_RACK, to_place=place)


@transaction.atomic
def move_all(*, pieces: Iterable[Piece], place: Place, by: Person, key: str = "") -> list[Movement]:
    """Move several pieces to a place, all or none; those that are there already stay.

    Each moves under a key of its own, made from the tap's. Refused where one is not on the rack.
    """
    done: list[Movement] = []
    there: set[int | None] = set()  # with what went along
    for piece in pieces:
        if piece.place_id == place.pk or piece.pk in there:
            continue
        done.append(move(piece=piece, place=place, by=by, key=f"{key[:57]}:{piece.code}" if key else ""))
        there.update(done[-1].others.values_list("piece", flat=True))
    return done


@transaction.atomic
def scrap(*, piece: Piece, by: Person, key: str = "", why: str = "") -> Movement:
    """Throw a piece away: all it carried is written off."""
    return _take_out(piece, by=by, key=key, verb=Verb.SCRAP, state=State.SCRAPPED, note=why)


@transaction.atomic
def lose(*, piece: Piece, by: Person, key: str = "", why: str = "") -> Movement:
    """A piece that can't be found: all it carried is written off until it is."""
    return _take_out(piece, by=by, key=key, verb=Verb.LOSE, state=State.LOST, note=why)


@transaction.atomic
def sell(*, piece: Piece, price: Decimal, by: Person, key: str = "") -> Movement:
    """Sell a piece as it is; what it brought is recorded beside what it carried."""
    if price < 0:
        raise Refused("A price can't be below zero.")
    return _take_out(
        piece, by=by, key=key, verb=Verb.SELL, state=State.SOLD, account=Account.SOLD, price=price
    )


def _take_out(
    piece: Piece,
    *,
    by: Person,
    key: str,
    verb: Verb,
    state: State,
    account: str = Account.WRITTEN_OFF,
    price: Decimal | None = None,
    note: str = "",
) -> Movement:
    if done := ledger.already(by, key):
        return done
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.ON_RACK, State.PULLED], state.label)
    ledger.refuse_if_held_for_another(piece, "")
    return ledger.record(
        verb=verb,
        by=by,
        key=key,
        piece=piece,
        to_state=state,
        value=-piece.value,
        account=account,
        price=price,
        note=note[:200],
    )


@transaction.atomic
def find(*, piece: Piece, by: Person, place: Place | None = None, key: str = "") -> Movement:
    """A lost piece turns up: it carries again what it carried when it was lost."""
    if done := ledger.already(by, key):
        return done
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.LOST], "found")
    lost = piece.movements.standing().filter(verb=Verb.LOSE).select_related("from_place").first()
    return ledger.record(
        verb=Verb.FIND,
        by=by,
        key=key,
        piece=piece,
        to_state=State.ON_RACK,
        to_place=place or (lost.from_place if lost else None),
        value=-lost.value if lost else ledger.NOTHING,
        account=Account.WRITTEN_OFF,
    )
