"""What comes in: deliveries of sheets, boards and goods."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from decimal import Decimal
from fractions import Fraction

from django.db import IntegrityError, transaction

from inventory import ledger
from inventory.books import day_to_book
from inventory.models import (
    Account,
    GoodsLot,
    LabelToPrint,
    Material,
    Piece,
    Place,
    Receipt,
    ReceiptLine,
    State,
    Supplier,
    Verb,
)
from shared import measure, money, tally
from shared.models import Person
from shared.refusal import Refused
from shared.shop import take_codes

MOST_AT_ONCE = 2_000


@dataclass(frozen=True, slots=True)
class SheetLine:
    """Sheets of one size: `length` with the grain, ticks. What they really measure may differ."""

    material: Material
    count: int
    length: int
    width: int
    price: Decimal
    measured_length: int | None = None
    measured_width: int | None = None
    measured_thickness: int | None = None

    @property
    def amount(self) -> Decimal:
        return self.price * self.count


@dataclass(frozen=True, slots=True)
class BoardLine:
    """Boards by tally, each (width, length) in ticks, at a price a board foot.

    `by_tally`: the invoice counts board feet the hardwood way (surface measure rounded), else exactly; None: all
    but dressed softwood that way. Dressed softwood counts at its nominal size either way.
    """

    material: Material
    boards: tuple[tuple[int, int], ...]
    price: Decimal
    surface: str = Piece.Surface.ROUGH
    by_tally: bool | None = None

    @property
    def is_tallied(self) -> bool:
        return not self.material.is_dressed if self.by_tally is None else self.by_tally

    def exact(self, width: int, length: int) -> Fraction:
        return self.material.board_feet(width, length)

    def tallied(self, width: int, length: int) -> Fraction:
        sold = self.material.sold_width(width)
        return measure.tally_board_feet(self.material.sold_thickness, sold, length)

    def invoiced(self, width: int, length: int) -> Fraction:
        return self.tallied(width, length) if self.is_tallied else self.exact(width, length)

    @property
    def count(self) -> int:
        return len(self.boards)

    @property
    def board_feet(self) -> Fraction:
        if self.is_tallied:  # the bundle is rounded once, not board by board
            sold = [(self.material.sold_width(width), length) for width, length in self.boards]
            return Fraction(tally.bundle_board_feet(self.material.sold_thickness, sold))
        return sum((self.exact(width, length) for width, length in self.boards), Fraction(0))

    @property
    def amount(self) -> Decimal:
        return money.cost_of(self.board_feet, self.price)


@dataclass(frozen=True, slots=True)
class GoodsLine:
    """Goods by count at a price each, or in packs: `quantity` packs of `pack` each, at a price a pack."""

    material: Material
    quantity: Decimal
    price: Decimal
    pack: Decimal = Decimal(1)
    pack_name: str = ""

    @property
    def count(self) -> Decimal:
        """How many in the material's unit."""
        return (self.quantity * self.pack).quantize(Decimal("0.001"))

    @property
    def amount(self) -> Decimal:
        return money.cost_of(self.quantity, self.price)


Line = SheetLine | BoardLine | GoodsLine


@transaction.atomic
def receive(
    *,
    supplier: Supplier,
    number: str,
    date: Date,
    lines: Sequence[Line],
    by: Person,
    place: Place | None = None,
    freight: Decimal = ledger.NOTHING,
    tax: Decimal = ledger.NOTHING,
    discount: Decimal = ledger.NOTHING,
    key: str = "",
) -> Receipt:
    """Enter a delivery: pieces with codes go on the rack, goods on the shelf, labels into the queue.

    Freight, tax and discount are spread over the lines by value and over a line's pieces, to the cent.
    Refused where the same supplier's number is entered already, and where nothing or too much is received.
    """
    if done := ledger.already(by, key):
        return _receipt_of(done)
    costs = cost_of_lines(lines, freight=freight, tax=tax, discount=discount)
    receipt = _new_receipt(
        supplier=supplier,
        number=" ".join(number.split()),
        date=date,
        booked_on=day_to_book(date),
        freight=freight,
        tax=tax,
        discount=discount,
        total=sum(costs, ledger.NOTHING),
        entered_by=by,
    )
    for position, (line, cost) in enumerate(zip(lines, costs, strict=True)):
        _enter(receipt, line, cost, by=by, place=place, key=key if position == 0 else "")
    return receipt


def cost_of_lines(
    lines: Sequence[Line],
    *,
    freight: Decimal = ledger.NOTHING,
    tax: Decimal = ledger.NOTHING,
    discount: Decimal = ledger.NOTHING,
) -> list[Decimal]:
    """What each line costs once freight, tax and discount are spread over them by value, to the cent.

    Where all lines are free it is spread by count. Refused as `receive` refuses, but for the number.
    """
    amounts = [line.amount for line in lines]
    total = sum(amounts, ledger.NOTHING) + freight + tax - discount
    _refuse_what_makes_no_sense(lines, total)
    return money.spread(total, amounts if any(amounts) else [Decimal(line.count) for line in lines])


def _refuse_what_makes_no_sense(lines: Sequence[Line], total: Decimal) -> None:
    if not lines:
        raise Refused("Nothing is received yet. Give at least one line with a count.")
    if total < 0:
        raise Refused("The discount is more than all the rest. Check the amounts.")
    pieces = sum(int(line.count) for line in lines if not isinstance(line, GoodsLine))
    if pieces > MOST_AT_ONCE:
        raise Refused(f"{pieces} pieces at once are too many. Receive at most {MOST_AT_ONCE} at a time.")
    for line in lines:
        wanted = {SheetLine: "sheet", BoardLine: "lumber", GoodsLine: "goods"}[type(line)]
        if line.material.kind != wanted:
            raise Refused(f"{line.material} is {line.material.get_kind_display()}. Receive it as that.")
        if line.count <= 0 or line.price < 0:
            raise Refused(f"{line.material}: the count must be above zero and the price not below it.")
        if line.material.is_counted_whole and line.count != int(line.count):
            raise Refused(f"{line.material} is counted whole. Write 1, 2 or 3.")


def _new_receipt(**columns: object) -> Receipt:
    if not columns["number"]:
        raise Refused("Give the number on the invoice or delivery note.")
    refuse_second_entry(columns["supplier"], str(columns["number"]))  # type: ignore[arg-type]
    try:
        with transaction.atomic():
            return Receipt.objects.create(**columns)
    except IntegrityError as error:
        raise _entered_already(columns["supplier"], columns["number"]) from error


def refuse_second_entry(supplier: Supplier, number: str) -> None:
    """Refuse a number that was entered for this supplier before, whatever its capitals and spaces: two people type
    the same invoice as "re 118" and as "RE 118". Asked also while a delivery is only checked."""
    tidy = " ".join(number.split())
    if Receipt.objects.filter(supplier=supplier, number__iexact=tidy).exists():
        raise _entered_already(supplier, tidy)


def _entered_already(supplier: object, number: object) -> Refused:
    return Refused(
        f"{supplier}’s receipt {number} is entered already. "
        "Look at it under Stock, Receive; nothing was added now."
    )


def _receipt_of(movement: "ledger.Movement") -> Receipt:
    line = movement.piece.receipt_line if movement.piece else movement.lot and movement.lot.receipt_line
    assert line
    return line.receipt


def _enter(
    receipt: Receipt, line: Line, cost: Decimal, *, by: Person, place: Place | None, key: str
) -> ReceiptLine:
    row = ReceiptLine.objects.create(
        receipt=receipt,
        material=line.material,
        count=Decimal(line.count),
        length=line.length if isinstance(line, SheetLine) else None,
        width=line.width if isinstance(line, SheetLine) else None,
        board_feet=tally.as_decimal(line.board_feet) if isinstance(line, BoardLine) else None,
        price=line.price,
        pack=line.pack if isinstance(line, GoodsLine) else Decimal(1),
        pack_name=line.pack_name if isinstance(line, GoodsLine) else "",
        amount=line.amount,
        cost=cost,
    )
    if isinstance(line, GoodsLine):
        _enter_goods(row, line.count, cost, by=by, key=key)
    elif isinstance(line, BoardLine):
        _enter_boards(row, line, by=by, place=place, key=key)
    else:
        _enter_sheets(row, line, by=by, place=place, key=key)
    return row


def _enter_goods(row: ReceiptLine, quantity: Decimal, cost: Decimal, *, by: Person, key: str) -> None:
    lot = GoodsLot.objects.create(
        material=row.material, receipt_line=row, received=quantity, left=0, cost=cost, value=0
    )
    ledger.record_goods(
        verb=Verb.RECEIVE, by=by, lot=lot, quantity=quantity, value=cost, account=Account.SUPPLIER, key=key
    )


def _enter_sheets(row: ReceiptLine, line: SheetLine, *, by: Person, place: Place | None, key: str) -> None:
    sheets = [
        Piece(
            kind=Piece.Kind.SHEET,
            material=line.material,
            length=line.measured_length or line.length,
            width=line.measured_width or line.width,
            thickness=line.measured_thickness,
            receipt_line=row,
            bought_on=row,
        )
        for _ in range(line.count)
    ]
    _put_on_rack(sheets, money.spread(row.cost, [1] * line.count), by=by, place=place, key=key)


def _enter_boards(row: ReceiptLine, line: BoardLine, *, by: Person, place: Place | None, key: str) -> None:
    boards = [
        Piece(
            kind=Piece.Kind.BOARD,
            material=line.material,
            length=length,
            width=width,
            surface=line.surface,
            board_feet=tally.as_decimal(line.exact(width, length)),
            tally_board_feet=tally.as_decimal(line.tallied(width, length)),
            receipt_line=row,
            bought_on=row,
        )
        for width, length in line.boards
    ]
    feet = [tally.as_decimal(line.invoiced(width, length)) for width, length in line.boards]
    costs = money.spread(row.cost, feet if any(feet) else [1] * len(feet))
    _put_on_rack(boards, costs, by=by, place=place, key=key)


def _put_on_rack(
    pieces: Sequence[Piece], costs: Sequence[Decimal], *, by: Person, place: Place | None, key: str
) -> None:
    for position, (piece, cost, code) in enumerate(zip(pieces, costs, take_codes(len(pieces)), strict=True)):
        piece.code = code
        piece.save()
        ledger.record(
            verb=Verb.RECEIVE,
            by=by,
            key=key if position == 0 else "",
            piece=piece,
            to_state=State.ON_RACK,
            to_place=place,
            value=cost,
            account=Account.SUPPLIER,
        )
    LabelToPrint.objects.bulk_create(LabelToPrint(piece=piece) for piece in pieces)
