"""Where things are."""

from django.apps import apps
from django.db import models
from django.db.models import Count, F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce


class PlaceQuerySet(models.QuerySet["Place"]):
    """Places."""

    def with_pieces(self) -> "PlaceQuerySet":
        """With `on_rack` on each, how many pieces are there, and with what it is within; in one query."""
        there = apps.get_model("inventory", "Piece").objects.in_rack().filter(place=OuterRef("pk"))
        count = there.order_by().values("place").annotate(n=Count("pk")).values("n")
        return self.select_related("within").annotate(on_rack=Coalesce(Subquery(count), 0))


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

    objects = PlaceQuerySet.as_manager()

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
