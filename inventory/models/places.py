"""Where things are."""

from django.db import models
from django.db.models import F, Q


class Place(models.Model):
    """A bay, a shelf, a wall: it has a label too. `walk_order` is the order one passes them."""

    code = models.CharField(max_length=6, unique=True)
    name = models.CharField(
        max_length=60, unique=True, error_messages={"unique": "There is a place with this name already."}
    )
    within = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="places_within"
    )
    walk_order = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["walk_order", "name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(within__isnull=True) | ~Q(within=F("id")),
                name="no_place_within_itself",
                violation_error_message="A place can't be within itself.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
