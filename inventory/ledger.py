"""The ledger: the only place that writes movements and changes a piece's state, place or value.

Every row balances: what it adds to the rack (`value`) came from its `account`, what it takes went there. So
value received = value on the rack + charged to jobs + written off + sold, to the cent, whatever happens.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db import connection, transaction
from django.utils import timezone

from inventory.models import Account, GoodsLot, LabelToPrint, Movement, Piece, Place, State, Verb
from inventory.models.movements import PROMISES
from inventory.models.pieces import IN_SHOP
from shared.models import Person
from shared.refusal import Refused

NOTHING = Decimal("0.00")


def already(by: Person, key: str) -> Movement | None:
    """What this tap did when it was first sent, or None. A tap without a key is always new.

    One person's taps wait for one another until the transaction ends: of two sent at once, the second sees
    here what the first did.
    """
    if not key:
        return None
    list(Person.objects.select_for_update(no_key=True).filter(pk=by.pk).values_list("pk"))
    return Movement.objects.filter(by=by, key=key).first()


def locked(piece: Piece) -> Piece:
    """The piece as it stands now, kept from others until the transaction ends."""
    return Piece.objects.select_for_update().get(pk=piece.pk)


def locked_lot(lot: GoodsLot) -> GoodsLot:
    """The same for a lot of goods."""
    return GoodsLot.objects.select_for_update(of=("self",)).select_related("material").get(pk=lot.pk)


def record(
    *,
    verb: Verb,
    by: Person,
    piece: Piece,
    key: str = "",
    to_state: str | None = None,
    to_place: Place | None = None,
    value: Decimal = NOTHING,
    account: str = Account.NONE,
    **others: Any,
) -> Movement:
    """Write one movement of a piece and make the piece what it says.

    `to_state` None leaves state and place as they are. `value` in cents-exact Decimal is added to what the
    piece carries. `others` are further columns of the movement.
    """
    if "\0" in others.get("note", ""):
        raise Refused("The note holds a sign that no keyboard types (a NUL). Type it anew.")
    movement = Movement(
        verb=verb,
        by=by,
        piece=piece,
        key=key,
        from_state=piece.state,
        to_state=piece.state if to_state is None else to_state,
        from_place_id=piece.place_id,
        value=value,
        account=account if value else Account.NONE,
        **others,
    )
    if to_state is None:
        movement.to_place_id = piece.place_id  # by its key: the place itself need not be asked for
    else:
        movement.to_place = to_place
        piece.state, piece.place = to_state, to_place
    movement.save(force_insert=True)
    if value or to_state is not None:
        piece.value += value
        piece.save(update_fields=["state", "place", "value"])
    return movement


def record_goods(
    *, verb: Verb, by: Person, lot: GoodsLot, quantity: Decimal, value: Decimal, account: str, **others: Any
) -> Movement:
    """Write one movement of goods: `quantity` and `value` are added to the lot (below zero: taken)."""
    movement = Movement.objects.create(
        verb=verb,
        by=by,
        lot=lot,
        quantity=quantity,
        value=value,
        account=account if value else Account.NONE,
        **others,
    )
    lot.left += quantity
    lot.value += value
    lot.save(update_fields=["left", "value"])
    return movement


@transaction.atomic
def undo(movement: Movement, *, by: Person, key: str = "") -> Movement:
    """Take a movement back by one that says so, with all that is part of it.

    Refused where it is undone already, or where something later stands on it, naming what. Returns the
    undoing. Promises (hold, release) are not undone here: a piece is released instead.
    """
    if done := already(by, key):
        return done
    movement = _locked_main_row(movement)
    if movement.verb in PROMISES or movement.verb == Verb.UNDO:
        raise Refused(f"“{movement.get_verb_display()}” can't be undone. Do what you need anew.")
    if Movement.objects.filter(undoes=movement).exists():
        raise Refused("This is undone already.")
    rows = [movement, *movement.others.order_by("id").select_related("piece", "lot")]
    for row in rows:
        _refuse_if_something_stands_on(row)
    undoing: Movement | None = None
    for row in rows:
        done = _undo_row(row, by=by, key=key if row is movement else "", part_of=undoing)
        undoing = undoing or done
    assert undoing is not None
    return undoing


def _locked_main_row(movement: Movement) -> Movement:
    """The row of the tap itself, kept from others: two people undo the same thing one after the other."""
    rows = Movement.objects.select_for_update(of=("self",)).select_related("piece", "lot")
    return rows.get(pk=movement.part_of_id or movement.pk)


def _refuse_if_something_stands_on(row: Movement) -> None:
    """The last standing movement of a piece can be undone, earlier ones can't. Goods need not come back in
    order, but what a job was issued stays as long as it gave some of it back."""
    thing = locked(row.piece) if row.piece else locked_lot(row.lot)  # type: ignore[arg-type]
    later = thing.movements.standing().exclude(verb__in=PROMISES).filter(pk__gt=row.pk)
    if row.verb == Verb.ISSUE:
        later = later.filter(verb=Verb.GOODS_BACK, job_number=row.job_number)
    elif row.verb == Verb.GOODS_BACK:
        later = later.none()
    if stands := later.order_by("-id").first():
        what = f"{thing} was" if isinstance(thing, Piece) else f"Some of these {thing.material} were"
        done = stands.get_verb_display().removeprefix("goods ")
        on = timezone.localtime(stands.at)
        raise Refused(f"{what} {done} on {on.day} {on:%b %Y} after that. Undo that first.")
    if isinstance(thing, Piece) and row.from_state not in IN_SHOP and (job := thing.holder):
        raise Refused(f"{thing} is held for {job.number}. Release it first.")


def _undo_row(row: Movement, *, by: Person, key: str, part_of: Movement | None) -> Movement:
    """The movement backwards: the same amounts, the other way."""
    common: dict[str, Any] = {
        "by": by,
        "key": key,
        "undoes": row,
        "part_of": part_of,
        "job_number": row.job_number,
        "account": row.account,
        "value": -row.value,
    }
    if row.piece is None:
        return _undo_goods(row, **common)
    if row.from_state == State.VOID:
        LabelToPrint.objects.filter(piece=row.piece).delete()
    return record(
        verb=Verb.UNDO, piece=locked(row.piece), to_state=row.from_state, to_place=row.from_place, **common
    )


def _undo_goods(row: Movement, **common: Any) -> Movement:
    assert row.lot
    lot = locked_lot(row.lot)
    left, value = lot.left - row.quantity, lot.value - row.value
    if left < 0 or value < 0 or (not left and value):
        raise Refused(f"Some of these {lot.material} were issued again since. Undo that first.")
    return record_goods(verb=Verb.UNDO, lot=lot, quantity=-row.quantity, **common)


def refuse_unless(piece: Piece, states: Iterable[str], doing: str) -> None:
    """Refuse where a piece is not in one of the states, saying what became of it."""
    if piece.state not in states:
        raise Refused(f"{piece} is {State(piece.state).label}, so it can't be {doing}.")


def refuse_if_held_for_another(piece: Piece, job_number: str) -> None:
    """Refuse where a piece is promised to a job other than this one ("" is nobody's)."""
    holder = piece.holder
    if holder is not None and holder.number != job_number:
        raise Refused(
            f"{piece} is held for {holder.number} {holder.title}. Release it there, or take another piece."
        )


def is_sealed() -> bool:
    """Whether the database itself refuses to change or delete a movement, or to date one into a closed period, by
    the triggers that migrations made."""
    table = Movement._meta.db_table
    if connection.vendor == "sqlite":
        asked, wanted = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", 3
    else:
        asked, wanted = "SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND tgenabled <> 'D'", 2
        asked += " AND NOT tgisinternal"
    with connection.cursor() as cursor:
        cursor.execute(asked, [table])
        return len(cursor.fetchall()) == wanted
