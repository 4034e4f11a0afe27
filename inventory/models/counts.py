"""Counting rounds: what was seen on the rack, kept until the differences are posted."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.pieces import Piece
from inventory.models.places import Place


class CountQuerySet(models.QuerySet["Count"]):
    """Rounds as people ask for them."""

    def open(self) -> "CountQuerySet":
        return self.filter(posted_at__isnull=True)


class Count(models.Model):
    """One round, of a place with all within it or of the whole rack. What it changes is posted once."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="counts")
    begun_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    begun_at = models.DateTimeField(auto_now_add=True)
    posted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    posted_at = models.DateTimeField(null=True, blank=True)

    objects = CountQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(posted_at__isnull=True, posted_by__isnull=True)
                | Q(posted_at__isnull=False, posted_by__isnull=False),
                name="a_count_is_posted_by_someone",
                violation_error_message="A count that is posted names who did it.",
            ),
        ]

    def __str__(self) -> str:
        return str(self.place) if self.place else "the whole rack"


class CountLine(models.Model):
    """A label that was seen in a round: a piece of the shop's, or a code nobody knows."""

    count = models.ForeignKey(Count, on_delete=models.CASCADE, related_name="lines")
    code = models.CharField(max_length=6)
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["count", "code"],
                name="a_label_is_seen_once_a_count",
                violation_error_message="This label was seen in this round already.",
            ),
        ]

    def __str__(self) -> str:
        return self.code
