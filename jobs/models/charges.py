"""What jobs are charged."""

from django.db import models
from django.utils import timezone

from inventory.models import Movement
from jobs.models.job import Job
from shared.fields import MoneyField


class Charge(models.Model):
    """What a movement charged (or gave back) to a job. All charges of a movement add up to what it took
    from the rack for jobs."""

    class Sort(models.TextChoices):
        STOCK = "stock", "stock"
        OFFCUT = "offcut", "offcut given back"
        GOODS = "goods", "goods"
        CORRECTION = "correction", "correction"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="charges")
    movement = models.ForeignKey(Movement, on_delete=models.PROTECT, related_name="charges")
    amount = MoneyField()
    sort = models.CharField(max_length=10, choices=Sort)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["job", "at"], name="charge_by_job")]
        constraints = [
            models.UniqueConstraint(
                fields=["movement", "sort"],
                name="one_charge_a_movement_and_sort",
                violation_error_message="This movement has been charged already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sort} {self.amount}"
