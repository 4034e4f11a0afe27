"""Plans, what they cut from what, and the pieces they hold."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import Material, Movement, Offer, Piece
from jobs.models.buying import BuyLine
from jobs.models.job import Job, Part
from shared.fields import MoneyField, TicksField


class PlanQuerySet(models.QuerySet["Plan"]):
    """Plans of jobs."""

    def accepted(self) -> "PlanQuerySet":
        return self.filter(state=Plan.State.ACCEPTED)


class Plan(models.Model):
    """What to cut from what: the problem as it was, the answer (both in the planning format), and figures.

    `bought`, `rack_used`, `kept` and `bound` are the format's figures; `saved` is what buying the area that
    comes from offcuts would have cost; `material` = bought + rack_used − kept.
    """

    class State(models.TextChoices):
        WORKING = "working", "being worked out"
        READY = "ready", "ready"
        ACCEPTED = "accepted", "accepted"
        OUT_OF_DATE = "out of date", "out of date"
        FAILED = "failed", "failed"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="plans")
    state = models.CharField(max_length=12, choices=State, default=State.WORKING)
    problem = models.JSONField(default=dict)
    answer = models.JSONField(default=dict)
    progress = models.JSONField(default=dict)
    bought = MoneyField(default=0)
    rack_used = MoneyField(default=0)
    kept = MoneyField(default=0)
    saved = MoneyField(default=0)
    bound = MoneyField(null=True, blank=True)
    is_proven = models.BooleanField(default=False)
    seconds = models.FloatField(default=0)
    seed = models.IntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    asked_at = models.DateTimeField(auto_now_add=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    is_cancelled = models.BooleanField(default=False)

    objects = PlanQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["job"],
                condition=Q(state="accepted"),
                name="one_accepted_plan_a_job",
                violation_error_message="This job has an accepted plan already.",
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.pk} for {self.job_id}"

    @property
    def material_cost(self) -> Any:
        """What the job will be charged for its material, if all goes as planned."""
        return self.bought + self.rack_used - self.kept


class Layout(models.Model):
    """One piece's share of a plan: its tree of cuts. A piece still to be bought has a size and a price;
    when it arrives, `piece` is set."""

    class State(models.TextChoices):
        TO_CUT = "to cut", "to cut"
        CUT = "cut", "cut"
        DROPPED = "dropped", "dropped"

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="layouts")
    position = models.PositiveIntegerField()
    stock_id = models.CharField(max_length=40)  # as the problem names it
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="layouts")
    offer = models.ForeignKey(Offer, on_delete=models.SET_NULL, null=True, blank=True)
    buy_line = models.ForeignKey(
        BuyLine, on_delete=models.SET_NULL, null=True, blank=True, related_name="layouts"
    )
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    length = TicksField()
    width = TicksField()
    trim = TicksField(default=0)
    price = MoneyField(default=0)
    tree = models.JSONField()
    state = models.CharField(max_length=8, choices=State, default=State.TO_CUT)
    movement = models.OneToOneField(
        Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="layout"
    )

    class Meta:
        ordering = ["position"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="cut", movement__isnull=False) | Q(~Q(state="cut"), movement__isnull=True),
                name="a_layout_cut_names_its_cut",
                violation_error_message="A layout is cut by one movement.",
            ),
        ]

    def __str__(self) -> str:
        return f"layout {self.position}"


class LayoutPart(models.Model):
    """How many of a part a layout gives."""

    layout = models.ForeignKey(Layout, on_delete=models.CASCADE, related_name="parts")
    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="layout_parts")
    count = models.PositiveIntegerField()

    class Meta:
        ordering = ["part__position"]
        constraints = [
            models.UniqueConstraint(
                fields=["layout", "part"],
                name="a_part_once_a_layout",
                violation_error_message="A part is listed once a layout.",
            ),
        ]


class Hold(models.Model):
    """A piece promised to a job."""

    piece = models.OneToOneField(
        Piece,
        on_delete=models.PROTECT,
        related_name="hold",
        error_messages={"unique": "Another job holds this piece."},
    )
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="holds")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"{self.piece_id} for {self.job_id}"
