"""What a piece looks like."""

from django.conf import settings
from django.db import models

from inventory.models.pieces import Piece


class Photo(models.Model):
    """A photo kept with a piece: resized, and without what the phone wrote into it."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="photos")
    file = models.FileField(upload_to="photos")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"photo of {self.piece_id}"
