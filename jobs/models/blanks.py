"""Parts that stay side by side, and the solid blanks that are glued up for them."""

from django.db import models

from inventory.models import Material
from jobs.models.job import Job
from jobs.models.plan import Plan
from jobs.trees import leaves_of, part_of
from shared.fields import TicksField


class MatchSet(models.Model):
    """How the parts of one match set lie: a tree of crosscut and rip over them, as the planning format has it.

    Its leaves are parts by the name a problem gives them, "p12-1" for the first of part 12. Parts that were
    added or taken off the list since are not in it yet: `jobs.matching_sets` settles that when it is read.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="match_sets")
    name = models.CharField(max_length=40)
    tree = models.JSONField(default=dict)
    may_be_glued = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "name"],
                name="a_match_set_once_a_job",
                violation_error_message="This job has a match set of that name already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Blank(models.Model):
    """A blank of solid wood, one stave or several glued up, that parts are sawn from after.

    `tree` says which, in the planning format; length and width are what they take, without allowances, in
    ticks. It belongs to the plan that chose its staves.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="blanks")
    name = models.CharField(max_length=80)
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    tree = models.JSONField()
    length = TicksField()
    width = TicksField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name

    def gives(self) -> dict[int, int]:
        """How many of each part, by its key, come out of it."""
        counts: dict[int, int] = {}
        for name in leaves_of(self.tree):
            counts[part_of(name)] = counts.get(part_of(name), 0) + 1
        return counts
