"""What waits to be done in the shop."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Sum, Window

from inventory import labelling
from inventory.models import Material, State
from jobs.models import BuyLine, Hold, Job, Layout

MOST_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Waiting:
    """Lists for the first page; each is short, its count is not."""

    to_pull: list[Hold]
    to_pull_count: int
    to_cut: list[Layout]
    to_cut_count: int
    to_receive: list[BuyLine]
    to_receive_count: int
    labels: int
    low: list[Material]
    jobs: list[Job]

    @property
    def is_nothing(self) -> bool:
        return not (self.to_pull or self.to_cut or self.to_receive or self.labels or self.low or self.jobs)


def for_the_shop(*, with_buying: bool) -> Waiting:
    """In a fixed number of queries. Without `with_buying` the buy list and the low goods are left out."""
    to_pull = Hold.objects.filter(piece__state=State.ON_RACK, job__state=Job.State.MAKING)
    to_cut = Layout.objects.filter(
        state=Layout.State.TO_CUT, plan__state="accepted", piece__state=State.PULLED
    )
    to_receive = BuyLine.objects.open() if with_buying else BuyLine.objects.none()
    pulled, pulled_count = _first_of(
        to_pull.select_related("piece__material", "piece__place", "job").order_by(
            F("piece__place__walk_order").asc(nulls_last=True), "pk"
        )
    )
    cut, cut_count = _first_of(to_cut.select_related("piece__material", "plan__job").order_by("pk"))
    received, received_count = _first_of(to_receive.with_all_shown().order_by("pk"))
    return Waiting(
        to_pull=pulled,
        to_pull_count=pulled_count,
        to_cut=cut,
        to_cut_count=cut_count,
        to_receive=received,
        to_receive_count=received_count,
        labels=labelling.waiting_count(),
        low=list(low_goods()[:MOST_SHOWN]) if with_buying else [],
        jobs=list(Job.objects.open().with_progress()[:MOST_SHOWN]),
    )


def _first_of(rows: "QuerySet[Any]") -> tuple[list[Any], int]:
    """The rows shown, and how many there are, in one query."""
    found = list(rows.annotate(of=Window(Count("pk")))[:MOST_SHOWN])
    return found, found[0].of if found else 0


def low_goods() -> "QuerySet[Material]":
    """Goods at or under their reorder point, with `left` on each."""
    return (
        Material.objects.in_use()
        .goods()
        .filter(reorder_point__isnull=False)
        .annotate(left=Sum("lots__left", filter=Q(lots__left__gt=0), default=Decimal(0)))
        .filter(left__lte=F("reorder_point"))
        .order_by("name")
    )
