"""What waits to be printed."""

from django.db import models
from django.db.models import F, Q

from inventory.models.materials import Material
from inventory.models.pieces import Piece
from inventory.models.places import Place
from shared.fields import TicksField


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


class LabelPaper(models.Model):
    """A label paper that the shop measured itself: lengths in ticks from the paper's top left corner."""

    name = models.CharField(
        max_length=60, unique=True, error_messages={"unique": "There is a paper with this name already."}
    )
    paper_width = TicksField()
    paper_height = TicksField()
    label_width = TicksField()
    label_height = TicksField()
    columns = models.PositiveSmallIntegerField(default=1)
    rows = models.PositiveSmallIntegerField(default=1)
    left_margin = TicksField(default=0)
    top_margin = TicksField(default=0)
    pitch_x = TicksField()
    pitch_y = TicksField()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    label_width__gt=0,
                    label_height__gt=0,
                    columns__gt=0,
                    rows__gt=0,
                    left_margin__gte=0,
                    top_margin__gte=0,
                ),
                name="label_paper_has_labels",
                violation_error_message="A label needs a size, and a paper at least one row and column.",
            ),
            models.CheckConstraint(
                condition=Q(pitch_x__gte=F("label_width"), pitch_y__gte=F("label_height")),
                name="labels_do_not_lie_over_each_other",
                violation_error_message="Labels lie over each other: from one to the next is less than a label.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
