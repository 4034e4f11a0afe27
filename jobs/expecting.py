"""What a job will still be charged, if all goes as its accepted plan says."""

from collections.abc import Iterable
from decimal import Decimal

from inventory.models import Piece
from inventory.sawing import carried_back
from jobs import layouts
from jobs.models import BuyLine, Job, Layout, Plan
from shared.shop import the_shop

NOTHING = Decimal("0.00")


def given_back(plan: Plan, cut: Iterable[Layout]) -> Decimal:
    """What the offcuts these layouts should leave carry back to the rack, to the cent as the saw will book it."""
    rate = the_shop().keep_rate
    return sum((_given_back_by(layout, plan, rate) for layout in cut), NOTHING)


def still_to_cut(job: Job) -> Decimal:
    """What layouts on the rack will charge, less what all waiting layouts give back; boards that came for the
    job and stand in no layout yet are charged whole. What is on the buy list counts there."""
    plan = Plan.objects.accepted().filter(job=job).first()
    waiting = list(_waiting(plan)) if plan else []
    to_charge = sum((_carried(layout) for layout in waiting if not _is_on_its_way(layout)), NOTHING)
    boards = sum((board.value for board in boards_in_no_layout(job, waiting)), NOTHING)
    return to_charge + boards - (given_back(plan, waiting) if plan else NOTHING)


def boards_in_no_layout(job: Job, waiting: Iterable[Layout]) -> list[Piece]:
    """Boards that were bought for a job, are held for it and have still to be planned."""
    planned = [layout.piece_id for layout in waiting if layout.piece_id]
    bought = Piece.objects.filter(hold__job=job, kind=Piece.Kind.BOARD, receipt_line__buy_lines__job=job)
    return list(bought.exclude(pk__in=planned).distinct())


def _waiting(plan: Plan) -> Iterable[Layout]:
    return plan.layouts.filter(state=Layout.State.TO_CUT).select_related("piece", "buy_line")


def _is_on_its_way(layout: Layout) -> bool:
    """Whether it waits for a sheet whose price is still on the buy list."""
    line = layout.buy_line
    return layout.piece is None and line is not None and line.state == BuyLine.State.OPEN


def _carried(layout: Layout) -> Decimal:
    """What its piece carries now; what was planned where there is none, or it is gone."""
    return layout.piece.value if layout.piece and layout.piece.is_in_shop else layout.price


def _given_back_by(layout: Layout, plan: Plan, rate: Decimal) -> Decimal:
    piece = layout.piece
    area = piece.area if piece else layout.length * layout.width
    left = [one.length * one.width for one in layouts.offcuts(layouts.read(layout, plan, {}))]
    return sum(carried_back(_carried(layout), area, left, rate=rate), NOTHING)
