"""The buy list and its receiving: what arrives goes on the rack, held for its job."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from decimal import Decimal

from django.db import transaction

from inventory import ledger, receiving
from inventory.models import Material, Piece, Place, Receipt, ReceiptLine, Supplier
from jobs.holding import hold
from jobs.models import BuyLine, Job, Layout
from shared.models import Person
from shared.refusal import Refused

THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Arrived:
    """What has arrived of a buy line: how many, at which price each; `boards` (width, length) for lumber. Goods may
    come in packs: so many of them, at a price a pack, of `pack` in the goods' unit each."""

    line: BuyLine
    count: Decimal
    price: Decimal
    boards: tuple[tuple[int, int], ...] = ()
    by_tally: bool | None = None
    measured_length: int | None = None
    measured_width: int | None = None
    pack: Decimal = Decimal(1)
    pack_name: str = ""

    def as_receipt_line(self) -> receiving.Line:
        material = self.line.material
        if material.is_goods:
            return receiving.GoodsLine(material, self.count, self.price, self.pack, self.pack_name)
        if material.is_lumber:
            return receiving.BoardLine(material, self.boards, self.price, by_tally=self.by_tally)
        if self.count != self.count.to_integral_value():
            raise Refused(f"{material}: sheets come whole. Write 1, 2 or 3.")
        assert self.line.length
        assert self.line.width
        return receiving.SheetLine(
            material,
            int(self.count),
            self.line.length,
            self.line.width,
            self.price,
            self.measured_length,
            self.measured_width,
        )


@transaction.atomic
def receive(
    *,
    arrived: Sequence[Arrived],
    supplier: Supplier,
    number: str,
    date: Date,
    by: Person,
    place: Place | None = None,
    freight: Decimal = ledger.NOTHING,
    tax: Decimal = ledger.NOTHING,
    discount: Decimal = ledger.NOTHING,
    key: str = "",
) -> Receipt:
    """Receive lines of the buy list on one receipt. Their pieces are held for the lines' jobs, and the
    layouts that waited for them get them. A line is filled when all of it has come."""
    if not arrived:
        raise Refused("Nothing has arrived yet. Give a count for at least one line.")
    if ledger.already(by, key) is None:
        _refuse_closed([one.line for one in arrived])
    is_new = ledger.already(by, key) is None
    receipt = receiving.receive(
        supplier=supplier,
        number=number,
        date=date,
        lines=[one.as_receipt_line() for one in arrived],
        by=by,
        place=place,
        freight=freight,
        tax=tax,
        discount=discount,
        key=key,
    )
    if is_new:
        for one, row in zip(arrived, receipt.lines.order_by("pk"), strict=True):
            _fill(one, row, by=by)
    return receipt


def _refuse_closed(lines: Sequence[BuyLine]) -> None:
    still_open = set(
        BuyLine.objects.select_for_update()
        .open()
        .filter(pk__in=[line.pk for line in lines])
        .values_list("pk", flat=True)
    )
    for line in lines:
        if line.pk not in still_open:
            raise Refused(f"{line.material} for {line.job.number} is not on the buy list any more.")


def _fill(arrived: Arrived, row: ReceiptLine, *, by: Person) -> None:
    line = BuyLine.objects.select_for_update().select_related("job").get(pk=arrived.line.pk)
    line.received += row.count if row.board_feet is None else row.board_feet.quantize(THOUSANDTH)
    line.receipt_line = row
    if line.received >= line.quantity or arrived.line.material.is_lumber:
        # Boards never come to the exact foot: one tally closes the line, planning again tells if it will do.
        line.state = BuyLine.State.FILLED
    line.save(update_fields=["received", "receipt_line", "state"])
    pieces = list(row.pieces.order_by("pk"))
    for piece in pieces:
        hold(piece=piece, job=line.job, by=by)
    _give_to_layouts(line, pieces)


def _give_to_layouts(line: BuyLine, pieces: list[Piece]) -> None:
    """Sheets go to the layouts that wait for them, where they are as large as planned."""
    waiting = list(line.layouts.filter(piece=None, state=Layout.State.TO_CUT).order_by("position"))
    for layout in waiting:
        fitting = [p for p in pieces if p.length >= layout.length and p.width >= layout.width]
        if not fitting:
            return
        layout.piece = fitting[0]
        layout.save(update_fields=["piece"])
        pieces.remove(fitting[0])


@transaction.atomic
def want(*, job: Job, material: Material, quantity: Decimal, price: Decimal | None = None) -> BuyLine:
    """Put goods on a job's buy list."""
    if not material.is_goods:
        raise Refused(f"{material} comes onto the buy list through a plan.")
    if quantity <= 0:
        raise Refused("The quantity must be above zero.")
    offer = material.offers.current().order_by("price").first()
    return BuyLine.objects.create(
        job=job,
        material=material,
        offer=offer,
        quantity=quantity,
        unit=material.unit,
        price=price if price is not None else round(offer.unit_price, 2) if offer else 0,
    )


def drop(line: BuyLine) -> None:
    """Take a line off the buy list."""
    BuyLine.objects.open().filter(pk=line.pk).update(state=BuyLine.State.DROPPED)


@dataclass(frozen=True, slots=True)
class Section:
    """A supplier's share of the buy list; without one, what nobody offers yet."""

    supplier: Supplier | None
    lines: list[BuyLine]

    @property
    def guessed_cost(self) -> Decimal:
        return sum((line.guessed_cost for line in self.lines), ledger.NOTHING)


def by_supplier(lines: Iterable[BuyLine]) -> list[Section]:
    """Lines in sections, a supplier each, in the order they come."""
    sections: dict[Supplier | None, list[BuyLine]] = {}
    for line in lines:
        sections.setdefault(line.offer.supplier if line.offer else None, []).append(line)
    return [Section(supplier, found) for supplier, found in sections.items()]
