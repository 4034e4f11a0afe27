"""People at the rack: what the inventory does with pieces, at random. The machine of jobs stands on it."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from inventory import handling, sawing
from inventory.models import Movement, Piece
from tests.books import HERE, LOST, PULLED, RACK, SCRAPPED, SOLD, USED, PieceByHand
from tests.inventory.shelf_machine import ShelfMachine
from tests.inventory.shop_floor import money, shares, whiches

Left = list[sawing.LeftOver]


class RackMachine(ShelfMachine):
    """Pull, put back, move, cut, scrap, lose, find and sell pieces."""

    # ---- what is done at the rack -------------------------------------------------------------------------

    def pull_piece(self, **asked: Any) -> Movement:
        return handling.pull(**asked)

    def may_pull(self, piece: PieceByHand) -> bool:
        return piece.state == RACK

    @precondition(lambda self: self.is_some(RACK))
    @rule(which=whiches)
    def pull(self, which: int) -> None:
        piece = self.choose(which, RACK)
        if done := self.tap(self.pull_piece, may=self.may_pull(piece), piece=self.row(piece)):
            self.books.write("pull", done.pk, [self.books.piece_step(piece, PULLED)])

    @precondition(lambda self: self.is_some(PULLED))
    @rule(which=whiches, where=st.none() | whiches)
    def put_back(self, which: int, where: int | None) -> None:
        piece = self.choose(which, PULLED)
        place = None if where is None else self.place(where)
        done = self.tap(handling.put_back, may=piece.state == PULLED, piece=self.row(piece), place=place)
        if done:
            to = place.pk if place else self.books.last_place(piece, "pull")
            self.books.write("return", done.pk, [self.books.piece_step(piece, RACK, to)])

    @precondition(lambda self: self.is_some(RACK))
    @rule(which=whiches, where=whiches)
    def move(self, which: int, where: int) -> None:
        piece, place = self.choose(which, RACK), self.place(where)
        may = piece.state == RACK and piece.place != place.pk
        if done := self.tap(handling.move, may=may, piece=self.row(piece), place=place):
            self.books.write("move", done.pk, [self.books.piece_step(piece, RACK, place.pk)])

    def may_take_out(self, piece: PieceByHand) -> bool:
        return piece.state in HERE and not piece.held_for

    @precondition(lambda self: self.is_some(RACK, PULLED))
    @rule(which=whiches, what=st.sampled_from(["scrap", "lose", "sell"]), price=money)
    def take_out(self, which: int, what: str, price: Decimal) -> None:
        piece = self.choose(which, RACK, PULLED)
        asked: dict[str, Any] = {"price": price} if what == "sell" else {}
        done = self.tap(getattr(handling, what), may=self.may_take_out(piece), piece=self.row(piece), **asked)
        if done:
            state = {"scrap": SCRAPPED, "lose": LOST, "sell": SOLD}[what]
            account = "sold" if what == "sell" else "written off"
            step = self.books.piece_step(piece, state, value=-piece.value, account=account)
            self.books.write(what, done.pk, [step])

    @precondition(lambda self: self.is_some(LOST))
    @rule(which=whiches, where=st.none() | whiches)
    def find(self, which: int, where: int | None) -> None:
        piece = self.choose(which, LOST)
        place = None if where is None else self.place(where)
        if done := self.tap(handling.find, may=piece.state == LOST, piece=self.row(piece), place=place):
            to = place.pk if place else self.books.last_place(piece, "lose")
            worth = self.books.last_value(piece, "lose")
            step = self.books.piece_step(piece, RACK, to, value=worth, account="written off")
            self.books.write("find", done.pk, [step])

    # ---- the saw ------------------------------------------------------------------------------------------

    def cut_piece(self, piece: Piece, left: Left, parts_area: int, **asked: Any) -> sawing.Cut:
        return sawing.cut_up(piece=piece, left=left, parts_area=parts_area, **asked)

    def account_of_cut(self, piece: PieceByHand) -> tuple[str, str]:
        """Which account a cut goes to, and the job's number."""
        return "written off", ""

    @precondition(lambda self: self.is_some(RACK, PULLED))
    @rule(which=whiches, left=st.lists(st.tuples(shares, shares, st.booleans()), max_size=3), taken=shares)
    def cut(self, which: int, left: list[tuple[Fraction, Fraction, bool]], taken: Fraction) -> None:
        """Offcuts of odd sizes, some measured across, some more than there is."""
        piece = self.choose(which, RACK, PULLED)
        account, job = self.account_of_cut(piece)
        rectangles = []
        for long, wide, is_turned in left:
            length, width = max(1, int(piece.length * long / 2)), max(1, int(piece.width * wide))
            rectangles.append((width, length) if is_turned else (length, width))
        parts_area = int(piece.length * taken / 3) * piece.width
        may = (
            piece.state in HERE
            and piece.held_for in ("", job)
            and all(max(r) <= max(piece.length, piece.width) for r in rectangles)
            and all(min(r) <= min(piece.length, piece.width) for r in rectangles)
            and sum(length * width for length, width in rectangles) + parts_area <= piece.area
        )
        overs = [sawing.LeftOver(*rectangle) for rectangle in rectangles]
        done = self.tap(self.cut_piece, may=may, piece=self.row(piece), left=overs, parts_area=parts_area)
        if done:
            self.write_cut(piece, done, rectangles, parts_area, account, job)

    def write_cut(
        self,
        piece: PieceByHand,
        cut: sawing.Cut,
        rectangles: list[tuple[int, int]],
        parts_area: int,
        account: str,
        job: str,
        **others: Any,
    ) -> None:
        """The second rule, and each offcut's share of what the piece carried."""
        assert [(row.length, row.width) for row in cut.offcuts] == rectangles
        areas = [length * width for length, width in rectangles]
        assert (cut.movement.parts_area, cut.movement.waste_area) == (
            parts_area,
            piece.area - parts_area - sum(areas),
        )
        place = piece.place if piece.state == RACK else self.books.last_place(piece, "pull")
        values = [self.books.offcut_value(piece, area) for area in areas]
        steps = [self.books.piece_step(piece, USED, value=-piece.value, account=account)]
        steps += [
            self.books.piece_step(self.keep(row), RACK, place, value=value, account=account)
            for row, value in zip(cut.offcuts, values, strict=True)
        ]
        piece.held_for = ""
        self.books.write("cut", cut.movement.pk, steps, job=job, **others)
