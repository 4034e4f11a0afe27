"""Counted stock: hinges, slides, glue, finish."""

from django.db import models
from django.db.models import F, Q

from inventory.models.materials import Material
from inventory.models.receipts import ReceiptLine
from shared.fields import MoneyField, QuantityField


class GoodsLotQuerySet(models.QuerySet["GoodsLot"]):
    """Lots of goods."""

    def with_some_left(self) -> "GoodsLotQuerySet":
        """First in first."""
        return self.filter(left__gt=0).order_by("received_at", "id")


class GoodsLot(models.Model):
    """Goods of one receipt line (or one count): how many are left, and what those cost."""

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="lots")
    receipt_line = models.ForeignKey(
        ReceiptLine, on_delete=models.PROTECT, null=True, blank=True, related_name="lots"
    )
    received_at = models.DateTimeField(auto_now_add=True)
    received = QuantityField()
    left = QuantityField()
    cost = MoneyField()
    value = MoneyField()

    objects = GoodsLotQuerySet.as_manager()

    class Meta:
        ordering = ["received_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(received__gt=0, left__gte=0, left__lte=F("received")),
                name="goods_left_between_none_and_received",
                violation_error_message="What is left lies between none and what was received.",
            ),
            models.CheckConstraint(
                condition=Q(value__gte=0, cost__gte=0),
                name="goods_worth_not_below_nothing",
                violation_error_message="Goods can't be worth less than nothing.",
            ),
            models.CheckConstraint(
                condition=~Q(left=0) | Q(value=0),
                name="goods_used_up_are_worth_nothing",
                violation_error_message="Goods used up carry no value.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.left} of {self.received} {self.material}"
