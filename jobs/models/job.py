"""Commissions and their parts lists."""

from django.apps import apps
from django.db import models
from django.db.models import F, Q, Sum

from inventory.models import Material, Movement
from shared.fields import MoneyField, TicksField


class Client(models.Model):
    """Who asked for it."""

    name = models.CharField(
        max_length=80, unique=True, error_messages={"unique": "There is a client with this name already."}
    )
    reach = models.CharField("phone or e-mail", max_length=120, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class JobQuerySet(models.QuerySet["Job"]):
    """Jobs as people ask for them."""

    def open(self) -> "JobQuerySet":
        return self.exclude(state__in=[Job.State.DONE, Job.State.DROPPED])

    def with_progress(self) -> "JobQuerySet":
        """With `parts_wanted`, `parts_cut` and `charged` on each, in one query."""
        parts = Part.objects.listed().filter(job=models.OuterRef("pk")).order_by().values("job")
        charges = apps.get_model("jobs", "Charge").objects.filter(job=models.OuterRef("pk"))
        return self.select_related("client").annotate(
            parts_wanted=models.Subquery(parts.annotate(n=Sum("quantity")).values("n")),
            parts_cut=models.Subquery(parts.annotate(n=Sum("cut")).values("n")),
            charged=models.Subquery(charges.order_by().values("job").annotate(n=Sum("amount")).values("n")),
        )


class Job(models.Model):
    """One commission."""

    class State(models.TextChoices):
        ASKED = "asked", "asked for"
        QUOTED = "quoted", "quoted"
        MAKING = "making", "being made"
        DONE = "done", "done"
        DROPPED = "dropped", "dropped"

    number = models.CharField(
        max_length=20, unique=True, error_messages={"unique": "There is a job with this number already."}
    )
    title = models.CharField(max_length=100)
    client = models.ForeignKey(Client, on_delete=models.PROTECT, null=True, blank=True, related_name="jobs")
    state = models.CharField(max_length=8, choices=State, default=State.ASKED)
    due = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    estimate = MoneyField(null=True, blank=True)  # what its estimate lines add up to, once it is frozen
    estimated_at = models.DateTimeField(null=True, blank=True)
    quoted_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    @property
    def is_open(self) -> bool:
        return self.state not in (self.State.DONE, self.State.DROPPED)


class PartQuerySet(models.QuerySet["Part"]):
    """Parts of a list, and what is sawn for them."""

    def listed(self) -> "PartQuerySet":
        """What stands on the parts list."""
        return self.filter(kind=Part.Kind.LISTED)

    def to_cut(self) -> "PartQuerySet":
        """Those of which some are still to be cut."""
        return self.filter(cut__lt=F("quantity"))

    def with_materials(self) -> "PartQuerySet":
        related = ("material", "material__species", "strip_material", "made_for__material", "blank")
        return self.select_related(*related).prefetch_related("also", "strips")


class Part(models.Model):
    """One line of a parts list, or a strip or stave that is sawn for one. Length runs with the face grain;
    ticks."""

    class Kind(models.TextChoices):
        LISTED = "listed", "part"
        STRIP = "strip", "edging strip"
        STAVE = "stave", "stave"

    class Grain(models.TextChoices):
        LENGTH = "length", "with the length"
        WIDTH = "width", "across it"
        ANY = "any", "either way"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="parts")
    code = models.CharField(max_length=6, unique=True)
    position = models.PositiveIntegerField()
    name = models.CharField(max_length=80)
    quantity = models.PositiveIntegerField()
    length = TicksField()
    width = TicksField()
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="parts")
    also = models.ManyToManyField(Material, blank=True, related_name="parts_it_would_do_for")
    grain = models.CharField(max_length=6, choices=Grain, default=Grain.LENGTH)
    thickness = TicksField(null=True, blank=True)  # finished, of a solid part, where the list gives it
    edging = models.CharField(max_length=60, blank=True)  # as typed
    faced_edges = models.CharField(max_length=11, blank=True)  # as understood: L1 L2 W1 W2
    strip_material = models.ForeignKey(
        Material, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    strip_thickness = TicksField(null=True, blank=True)
    edging_in_size = models.BooleanField(default=True)
    may_be_glued = models.BooleanField(default=False)
    kind = models.CharField(max_length=6, choices=Kind, default=Kind.LISTED)
    made_for = models.ForeignKey(
        "self", on_delete=models.CASCADE, null=True, blank=True, related_name="strips"
    )
    blank = models.ForeignKey("Blank", on_delete=models.CASCADE, null=True, blank=True, related_name="staves")
    match_set = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=200, blank=True)
    cut = models.PositiveIntegerField(default=0)
    spoiled = models.PositiveIntegerField(default=0)

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="part_is_wanted_at_least_once",
                violation_error_message="A part needs a quantity above zero.",
            ),
            models.CheckConstraint(
                condition=Q(length__gt=0, width__gt=0),
                name="part_has_a_size",
                violation_error_message="A part needs a length and a width above zero.",
            ),
            models.CheckConstraint(
                condition=Q(cut__lte=F("quantity")),
                name="no_more_parts_cut_than_wanted",
                violation_error_message="More are cut already than are wanted.",
            ),
            models.CheckConstraint(
                condition=Q(grain__in=["length", "width", "any"]),
                name="part_grain_is_known",
                violation_error_message="The grain runs with the length, across it, or either way.",
            ),
            models.CheckConstraint(
                condition=Q(kind="listed", made_for=None, blank=None)
                | Q(kind="strip", made_for__isnull=False, blank=None)
                | Q(kind="stave", made_for=None, blank__isnull=False),
                name="strips_and_staves_are_made_for_something",
                violation_error_message="A strip is made for a part and a stave for a blank.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def edges(self) -> tuple[str, ...]:
        """The edges that get a strip: L1 and L2 are the long ones, W1 and W2 the short."""
        return tuple(self.faced_edges.split())

    @property
    def still_to_cut(self) -> int:
        return self.quantity - self.cut


class Spoiled(models.Model):
    """A part that was cut and can't be used; it goes back to be planned again."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="spoilings")
    count = models.PositiveIntegerField()
    movement = models.ForeignKey(
        Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="spoiled_parts"
    )
    by = models.ForeignKey("shared.Person", on_delete=models.PROTECT)
    at = models.DateTimeField(auto_now_add=True)
    key = models.CharField(max_length=64, blank=True)
    why = models.CharField(max_length=120, blank=True)
    is_undone = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gt=0),
                name="something_was_spoiled",
                violation_error_message="At least one part is spoiled.",
            ),
            models.UniqueConstraint(
                fields=["by", "key"],
                condition=~Q(key=""),
                name="the_same_spoiling_counts_once",
                violation_error_message="This tap has been counted already.",
            ),
        ]
