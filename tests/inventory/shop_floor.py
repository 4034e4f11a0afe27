"""What every machine of the shop stands on: how taps are sent, what comes in, undoing, and what always holds.

Every tap has a key and is sent twice; every refusal must leave each row of the database as it was.
"""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import count
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.db.models import Sum
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from inventory import ledger, putting_in, receiving
from inventory.models import GoodsLot, LabelToPrint, Movement, Piece, Place
from shared.measure import inches
from shared.refusal import Refused
from shared.shop import the_shop
from tests.books import NOTHING, RACK, Books, Event, LotByHand, PieceByHand, Step
from tests.factories import make_material, make_person, make_place, make_supplier

CENT = Decimal("0.01")
whiches = st.integers(0, 399)
#: Thirds, sevenths and thousandths of an inch: nothing here divides evenly.
sizes = st.integers(inches("1/2"), inches(60))
money = st.integers(0, 30_000).map(lambda cents: Decimal(cents) / 100)
shares = st.fractions(0, Fraction(11, 10), max_denominator=97)
TABLES = [
    model._meta.db_table
    for name in ("shared", "inventory", "jobs")
    for model in apps.get_app_config(name).get_models(include_auto_created=True)
]


def every_row() -> dict[str, list[tuple[Any, ...]]]:
    """All that the database holds of the shop."""
    rows = {}
    with connection.cursor() as cursor:
        for table in TABLES:
            cursor.execute(f"SELECT * FROM {table} ORDER BY id")
            rows[table] = cursor.fetchall()
    return rows


class ShopFloor(RuleBasedStateMachine):
    """One shop: its rack, its shelf of hinges, two people, and the books kept by hand."""

    def __init__(self) -> None:
        super().__init__()
        # The ledger's triggers refuse DELETE, so that an example can't be swept up: it is rolled back.
        self.example = transaction.atomic()
        self.example.__enter__()
        self.keys = (f"tap {number}" for number in count(1))
        self.history: list[tuple[Any, ...]] = []

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.example.__exit__(None, None, None)

    @initialize(
        rate=st.sampled_from(["0", "0.333", "0.5", "1"]), costing=st.sampled_from(["fifo", "average"])
    )
    def open_the_shop(self, rate: str, costing: str) -> None:
        shop = the_shop()
        shop.keep_rate, shop.goods_costing = Decimal(rate), costing
        shop.save(update_fields=["keep_rate", "goods_costing"])
        self.books = Books(Fraction(rate), is_averaged=costing == "average")
        self.people = [make_person(), make_person("bench")]
        self.places = [make_place().pk, make_place().pk]
        self.yard = make_supplier()
        self.sheets = make_material()
        self.hinges = make_material(kind="goods", is_counted_whole=False)
        first = [(2, Decimal("92.00"), False), (10, Decimal("0.33"), True)]
        self.receive(first, freight=Decimal("5.01"), discount=NOTHING, where=0)

    # ---- how a tap is sent --------------------------------------------------------------------------------

    def tap(self, what: Callable[..., Any], *, may: bool, **asked: Any) -> Any:
        """Send a tap twice under one key. Returns what it did, or None where it was refused, rightly."""
        asked = {"by": self.people[len(self.books.events) % 2], "key": next(self.keys), **asked}
        before = every_row()
        if not may:
            with pytest.raises(Refused):
                what(**asked)
            assert every_row() == before
            return None
        done = what(**asked)
        after = every_row()
        assert what(**asked) == done
        assert every_row() == after
        return done

    def choose(self, which: int, *states: str) -> PieceByHand:
        """Mostly a piece in one of the states, so that more is done than refused."""
        pieces = list(self.books.pieces.values())
        fitting = [piece for piece in pieces if piece.state in states and not piece.held_for]
        among = fitting if fitting and which % 4 else pieces
        return among[which // 4 % len(among)]

    def row(self, piece: PieceByHand) -> Piece:
        return Piece.objects.get(pk=piece.pk)

    def place(self, which: int) -> Place:
        return Place.objects.get(pk=self.places[which % 2])

    def is_some(self, *states: str) -> bool:
        return any(piece.state in states for piece in self.books.pieces.values())

    def keep(self, row: Piece) -> PieceByHand:
        """Begin a page for a new piece."""
        piece = PieceByHand(row.pk, row.length, row.width, row.kind, row.material_id, parent=row.parent_id)
        self.books.pieces[row.pk] = piece
        return piece

    # ---- what comes in ------------------------------------------------------------------------------------

    @rule(
        counts=st.lists(st.tuples(st.integers(1, 3), money, st.booleans()), min_size=1, max_size=3),
        freight=money,
        discount=money,
        where=whiches,
    )
    def receive(
        self, counts: list[tuple[int, Decimal, bool]], freight: Decimal, discount: Decimal, where: int
    ) -> None:
        lines: list[receiving.Line] = [
            receiving.GoodsLine(self.hinges, Decimal(number), price)
            if is_goods
            else receiving.SheetLine(self.sheets, number, inches(96), inches(48), price)
            for number, price, is_goods in counts
        ]
        amounts = [number * price for number, price, _ in counts]
        total = sum(amounts, freight) - discount
        receipt = self.tap(
            receiving.receive,
            may=total >= 0,
            supplier=self.yard,
            number=f"R{len(self.books.events)}",
            date=date(2026, 11, 2),
            lines=lines,
            place=self.place(where),
            freight=freight,
            discount=discount,
        )
        if receipt is None:
            return
        assert receipt.total == total == sum(line.cost for line in receipt.lines.all())
        weights = amounts if any(amounts) else [Decimal(number) for number, _, _ in counts]
        for line, weight in zip(receipt.lines.order_by("pk"), weights, strict=True):
            exact = Fraction(total) * Fraction(weight) / Fraction(sum(weights))
            assert abs(Fraction(line.cost) - exact) < CENT
            self.enter(line, self.places[where % 2])

    def enter(self, line: Any, place: int) -> None:
        """Write a received line into the books: each piece has an equal share, to the cent."""
        for lot in line.lots.all():
            by_hand = LotByHand(lot.pk, lot.material_id, line.count, line.cost)
            self.books.lots[lot.pk] = by_hand
            step = Step(by_hand, line.cost, "supplier" if line.cost else "", line.count)
            self.books.write("receive", lot.movements.get().pk, [step])
        pieces = list(line.pieces.order_by("pk"))
        values = [piece.value for piece in pieces]
        assert sum(values, NOTHING) == (line.cost if pieces else NOTHING)
        assert not values or max(values) - min(values) <= CENT
        for row in pieces:
            step = self.books.piece_step(self.keep(row), RACK, place, value=row.value, account="supplier")
            self.books.write("receive", row.movements.get(verb="receive").pk, [step])

    @rule(length=sizes, width=sizes, value=money, where=whiches)
    def put_in(self, length: int, width: int, value: Decimal, where: int) -> None:
        row = self.tap(
            putting_in.put_in,
            may=True,
            material=self.sheets,
            kind="offcut",
            length=length,
            width=width,
            value=value,
            place=self.place(where),
        )
        step = self.books.piece_step(
            self.keep(row), RACK, self.places[where % 2], value=value, account="shop"
        )
        self.books.write("put in", row.movements.get().pk, [step])

    # ---- a mistake ----------------------------------------------------------------------------------------

    def undo_movement(self, movement: Movement, **asked: Any) -> Movement:
        return ledger.undo(movement, **asked)

    def may_undo(self, event: Event) -> bool:
        return self.books.may_undo(event)

    def after_undo(self, event: Event) -> None:
        """What else an undoing does, for the machines that stand on this one."""

    @precondition(lambda self: bool(self.books.events))
    @rule(back=st.integers(0, 3), through=whiches)
    def undo(self, back: int, through: int) -> None:
        """One of the latest events, through any of its rows."""
        event = self.books.events[-1 - back % len(self.books.events)]
        main = Movement.objects.get(pk=event.movement)
        rows = [main, *main.others.order_by("pk")]
        done = self.tap(self.undo_movement, may=self.may_undo(event), movement=rows[through % len(rows)])
        if done:
            assert (done.verb, done.undoes_id, done.value) == ("undo", event.movement, -main.value)
            self.books.undo(event)
            self.after_undo(event)

    # ---- what always holds --------------------------------------------------------------------------------

    @invariant()
    def what_came_in_is_here_or_accounted_for(self) -> None:
        books = self.books.accounts
        came_in = books["supplier"] + books["shop"]
        assert came_in == self.books.carried() - books["job"] - books["written off"] - books["sold"]
        rows = Movement.objects.order_by().values_list("account").annotate(n=Sum("value")).exclude(account="")
        assert {name: value for name, value in rows if value} == {
            name: value for name, value in books.items() if value
        }

    @invariant()
    def every_piece_and_lot_is_as_the_books_say(self) -> None:
        assert {
            pk: (state, place, value)
            for pk, state, place, value in Piece.objects.values_list("pk", "state", "place", "value")
        } == {one.pk: (one.state, one.place, one.value) for one in self.books.pieces.values()}
        assert {
            pk: (left, value) for pk, left, value in GoodsLot.objects.values_list("pk", "left", "value")
        } == {one.pk: (one.left, one.value) for one in self.books.lots.values()}

    @invariant()
    def no_movement_is_changed_or_deleted(self) -> None:
        rows = list(Movement.objects.order_by("pk").values_list())
        assert rows[: len(self.history)] == self.history
        self.history = rows

    @invariant()
    def no_label_waits_for_what_was_a_mistake(self) -> None:
        assert not LabelToPrint.objects.filter(piece__state="void").exists()
