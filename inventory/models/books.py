"""What the bookkeeper needs: days that are closed, and what the shop calls its accounts."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from shared.fields import MoneyField

STOCK, BUYERS, SALES = "stock", "buyers", "sales"


class ClosedPeriod(models.Model):
    """All days up to and with `last_day` are closed: no movement is dated before `ends_at` any more.

    The sums are what all movements up to then came to when it was closed. Never changed (triggers).
    """

    last_day = models.DateField(
        unique=True, error_messages={"unique": "The books are closed up to this day already."}
    )
    ends_at = models.DateTimeField()  # the first moment that is still open
    received = MoneyField()
    charged = MoneyField()
    written_off = MoneyField()
    sold = MoneyField()
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-last_day"]

    def __str__(self) -> str:
        return f"up to {self.last_day:%Y-%m-%d}"

    @property
    def on_rack(self) -> object:
        """What the stock carried at the end of the last day."""
        return self.received - self.charged - self.written_off - self.sold


class AccountName(models.Model):
    """What the shop's bookkeeping calls one side of its movements."""

    SORTS = [
        (STOCK, "material in stock"),
        ("supplier", "received from suppliers"),
        ("shop", "was in the shop already"),
        ("job", "used on jobs"),
        ("written off", "written off"),
        ("sold", "cost of what was sold as it is"),
        (BUYERS, "owed by buyers of material"),
        (SALES, "material sold"),
    ]

    sort = models.CharField(max_length=12, choices=SORTS, unique=True)
    name = models.CharField(max_length=60)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(name=""),
                name="account_has_a_name",
                violation_error_message="An account needs a name or a number.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
