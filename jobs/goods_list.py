"""The goods a job needs: its list, what is in the job of them already, and what the shelf has."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.models import Material
from jobs.costing import JobCost
from jobs.estimating import issued
from jobs.models import GoodsWanted, Job
from shared.refusal import Refused
from shared.taps import new_key


@dataclass(frozen=True, slots=True)
class Row:
    """One of the goods on a job's list. `key` is for the tap that issues what is missing."""

    material: Material
    wanted: Decimal
    had: Decimal
    left: Decimal
    key: str

    @property
    def missing(self) -> Decimal:
        return max(self.wanted - self.had, Decimal(0))


def rows_of(job: Job, cost: JobCost | None = None) -> list[Row]:
    """The job's list, in three queries; in one where the page has loaded what the job costs."""
    had = cost.goods_had if cost else issued(job)
    wanted = cost.goods_wanted if cost else list(job.goods_wanted.all())
    stock: dict[int, Any] = Material.objects.with_stock().in_bulk([one.material_id for one in wanted])
    return [
        Row(found, one.quantity, had.get(found.pk, Decimal(0)), found.left, new_key())
        for one in wanted
        for found in [stock[one.material_id]]
    ]


@transaction.atomic
def put(*, job: Job, material: Material, quantity: Decimal) -> GoodsWanted:
    """Set how many of some goods a job needs. Refused for what is no goods, or parts of what comes whole."""
    if not material.is_goods:
        raise Refused(f"{material} is {material.get_kind_display()}; it comes through the parts list.")
    if quantity <= 0:
        raise Refused("The quantity must be above zero.")
    if material.is_counted_whole and quantity != quantity.to_integral_value():
        raise Refused(f"{material} is counted whole. Write 1, 2 or 3.")
    wanted, _ = GoodsWanted.objects.update_or_create(
        job=job, material=material, defaults={"quantity": quantity}
    )
    return wanted
