"""What a job will still be charged, if all goes as its accepted plan says."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Piece
from inventory.sawing import carried_back
from jobs import layouts
from jobs.models import BuyLine, Job, Layout, Plan
from shared.shop import the_shop

NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Expected:
    """What is still to be sawn for a job: the layouts of its accepted plan that wait, with their pieces and buy
    lines, and what they give back, by material; the pieces that came on the job's own buy list, by their keys,
    and those of them that are boards in no layout yet."""

    layouts: list[Layout]
    back: dict[int, Decimal]
    bought: dict[int, Piece]
    boards: list[Piece]

    @property
    def still_to_cut(self) -> Decimal:
        """What layouts on the rack will charge, less what all waiting layouts give back; boards that came for
        the job and stand in no layout yet are charged whole. What is on the buy list counts there."""
        to_charge = sum((carried(one) for one in self.layouts if not is_on_its_way(one)), NOTHING)
        boards = sum((board.value for board in self.boards), NOTHING)
        return to_charge + boards - sum(self.back.values(), NOTHING)


def expected(job: Job, lines: Iterable[BuyLine], rate: Decimal) -> Expected:
    """What is still to be sawn for a job, in three queries.

    `lines` are all of its buy list, received ones too; `rate` is the shop's keep rate.
    """
    plan = Plan.objects.accepted().filter(job=job).first()
    waiting = plan.layouts.filter(state=Layout.State.TO_CUT) if plan else Layout.objects.none()
    found = list(waiting.select_related("piece", "buy_line", "material"))
    back: dict[int, Decimal] = defaultdict(lambda: NOTHING)
    for layout in found:
        assert plan
        back[layout.material_id] += _given_back_by(layout, plan, rate)
    bought: dict[int, Piece] = {}
    if any(line.received for line in lines):
        came = Piece.objects.filter(receipt_line__buy_lines__job=job).select_related("material", "hold")
        bought = {piece.pk: piece for piece in came}
    planned = {layout.piece_id for layout in found}
    boards = [piece for piece in bought.values() if piece.pk not in planned and _is_board_for(job, piece)]
    return Expected(found, back, bought, boards)


def _is_board_for(job: Job, piece: Piece) -> bool:
    hold = getattr(piece, "hold", None)
    return piece.kind == Piece.Kind.BOARD and hold is not None and hold.job_id == job.pk


def given_back(plan: Plan, cut: Iterable[Layout]) -> Decimal:
    """What the offcuts these layouts should leave carry back to the rack, to the cent as the saw will book it."""
    rate = the_shop().keep_rate
    return sum((_given_back_by(layout, plan, rate) for layout in cut), NOTHING)


def is_on_its_way(layout: Layout) -> bool:
    """Whether it waits for a sheet whose price is still on the buy list."""
    line = layout.buy_line
    return layout.piece is None and line is not None and line.state == BuyLine.State.OPEN


def carried(layout: Layout) -> Decimal:
    """What its piece carries now; what was planned where there is none, or it is gone."""
    return layout.piece.value if layout.piece and layout.piece.is_in_shop else layout.price


def _given_back_by(layout: Layout, plan: Plan, rate: Decimal) -> Decimal:
    piece = layout.piece
    area = piece.area if piece else layout.length * layout.width
    left = [one.length * one.width for one in layouts.offcuts(layouts.read(layout, plan, {}))]
    return sum(carried_back(carried(layout), area, left, rate=rate), NOTHING)
