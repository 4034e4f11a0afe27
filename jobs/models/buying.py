"""What has to be bought."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from inventory.models import Material, Offer, ReceiptLine
from jobs.models.job import Job
from shared.fields import MoneyField, QuantityField, TicksField


class BuyLineQuerySet(models.QuerySet["BuyLine"]):
    """Lines of buy lists."""

    def open(self) -> "BuyLineQuerySet":
        return self.filter(state=BuyLine.State.OPEN)

    def with_all_shown(self) -> "BuyLineQuerySet":
        return self.select_related("job", "material", "material__species", "offer__supplier")


class BuyLine(models.Model):
    """One line of a buy list: sheets of one size, or board feet of lumber with the least sizes that do."""

    class State(models.TextChoices):
        OPEN = "open", "to buy"
        FILLED = "filled", "received"
        DROPPED = "dropped", "not needed"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="buy_lines")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="buy_lines")
    offer = models.ForeignKey(Offer, on_delete=models.SET_NULL, null=True, blank=True)
    length = TicksField(null=True, blank=True)  # of a sheet; of lumber the least that the parts need
    width = TicksField(null=True, blank=True)
    quantity = QuantityField()
    unit = models.CharField(max_length=12)  # sheet, board foot, or a goods' unit
    price = MoneyField(default=0)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    received = QuantityField(default=0)
    receipt_line = models.ForeignKey(
        ReceiptLine, on_delete=models.PROTECT, null=True, blank=True, related_name="buy_lines"
    )
    note = models.CharField(max_length=200, blank=True)

    objects = BuyLineQuerySet.as_manager()

    class Meta:
        ordering = ["material", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="something_is_to_be_bought",
                violation_error_message="A buy line needs a quantity above zero.",
            ),
            models.CheckConstraint(
                condition=Q(price__gte=0, received__gte=0),
                name="buy_line_amounts_not_negative",
                violation_error_message="A price can't be below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.unit} {self.material}"

    @property
    def still_to_come(self) -> Decimal:
        """How many have not arrived yet."""
        return max(self.quantity - self.received, Decimal(0))

    @property
    def guessed_cost(self) -> Decimal:
        """What is still to come, at the price last seen."""
        return self.still_to_come * self.price
