"""What waits to be printed."""

from django.db import models
from django.db.models import Q

from inventory.models.materials import Material
from inventory.models.pieces import Piece
from inventory.models.places import Place


class LabelToPrint(models.Model):
    """A label in the queue, filled as pieces are made."""

    piece = models.OneToOneField(
        Piece, on_delete=models.CASCADE, null=True, blank=True, related_name="label_to_print"
    )
    place = models.OneToOneField(
        Place, on_delete=models.CASCADE, null=True, blank=True, related_name="label_to_print"
    )
    material = models.OneToOneField(
        Material, on_delete=models.CASCADE, null=True, blank=True, related_name="label_to_print"
    )
    asked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(piece__isnull=False, place__isnull=True, material__isnull=True)
                | Q(piece__isnull=True, place__isnull=False, material__isnull=True)
                | Q(piece__isnull=True, place__isnull=True, material__isnull=False),
                name="label_is_for_one_thing",
                violation_error_message="A label is for one piece, place or shelf of goods.",
            ),
        ]
