"""What came in, from whom, at what cost."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.materials import Material, Supplier
from shared.fields import MoneyField, QuantityField, TicksField


class Receipt(models.Model):
    """One delivery or invoice. Freight, tax and discount are spread over its lines by value."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="receipts")
    number = models.CharField("invoice or delivery number", max_length=40)
    date = models.DateField()
    # Its own date, or that of its entry where its own was closed already or lay ahead; empty: that of its entry.
    booked_on = models.DateField(null=True, blank=True)
    freight = MoneyField(default=0)
    tax = MoneyField(default=0)
    discount = MoneyField(default=0)
    total = MoneyField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    entered_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-date", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["supplier", "number"],
                name="receipt_number_once_a_supplier",
                violation_error_message="This supplier's receipt with this number is entered already.",
            ),
            models.CheckConstraint(
                condition=Q(freight__gte=0, tax__gte=0, discount__gte=0, total__gte=0),
                name="receipt_amounts_not_negative",
                violation_error_message="Freight, tax, discount and total can't be below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.supplier} {self.number}"


class ReceiptLine(models.Model):
    """One material of a receipt: how many, of what size, at what price; `cost` is after the spread."""

    receipt = models.ForeignKey(Receipt, on_delete=models.CASCADE, related_name="lines")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="receipt_lines")
    count = QuantityField()
    length = TicksField(null=True, blank=True)
    width = TicksField(null=True, blank=True)
    board_feet = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    price = MoneyField()
    pack = QuantityField(default=1)  # of goods: how many of their unit the price is for
    pack_name = models.CharField(max_length=40, blank=True)
    amount = MoneyField()
    cost = MoneyField()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gt=0, pack__gt=0),
                name="receipt_line_counts_something",
                violation_error_message="A line needs a count above zero.",
            ),
            models.CheckConstraint(
                condition=Q(price__gte=0, amount__gte=0, cost__gte=0),
                name="receipt_line_amounts_not_negative",
                violation_error_message="A price can't be below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} {self.material}"
