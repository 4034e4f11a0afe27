"""The ledger: what happened, never changed."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models.goods import GoodsLot
from inventory.models.pieces import Piece, State
from inventory.models.places import Place
from shared.fields import MoneyField, QuantityField


class Verb(models.TextChoices):
    """What was done."""

    RECEIVE = "receive", "received"
    PUT_IN = "put in", "put in"
    HOLD = "hold", "held"
    RELEASE = "release", "released"
    PULL = "pull", "pulled"
    RETURN = "return", "put back"
    MOVE = "move", "moved"
    CUT = "cut", "cut"
    LEAVE = "leave", "left from a cut"
    ISSUE = "issue", "issued"
    GOODS_BACK = "goods back", "goods put back"
    SCRAP = "scrap", "scrapped"
    LOSE = "lose", "lost"
    FIND = "find", "found"
    SELL = "sell", "sold"
    UNDO = "undo", "undone"


class Account(models.TextChoices):
    """Where the value a movement takes from the rack goes, or what it brings comes from."""

    NONE = "", "none"
    SUPPLIER = "supplier", "supplier"
    SHOP = "shop", "was in the shop already"
    JOB = "job", "charged to a job"
    WRITTEN_OFF = "written off", "written off"
    SOLD = "sold", "sold"


#: Movements that change neither place, state nor value: nothing stands on them.
PROMISES = [Verb.HOLD, Verb.RELEASE]


class MovementQuerySet(models.QuerySet["Movement"]):
    """Movements as people ask for them."""

    def standing(self) -> "MovementQuerySet":
        """What counts: neither undone nor an undoing."""
        return self.filter(undone_by__isnull=True).exclude(verb=Verb.UNDO)

    def main(self) -> "MovementQuerySet":
        """One row an event: without the rows that are a part of another."""
        return self.filter(part_of__isnull=True)

    def with_all_shown(self) -> "MovementQuerySet":
        """With all that a list of movements shows, in one query."""
        return self.select_related(
            "by", "piece", "piece__material", "lot__material", "from_place", "to_place", "undone_by", "undoes"
        )


class Movement(models.Model):
    """One thing that happened to one piece or one lot of goods. Append-only: triggers refuse change.

    `value` is what it adds to the rack (below zero: takes from it); `account` names the other side.
    `part_of` ties the offcuts of a cut, and the lots of an issue, to the row that carries the tap's key.
    """

    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="movements")
    verb = models.CharField(max_length=10, choices=Verb)
    piece = models.ForeignKey(
        Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    lot = models.ForeignKey(
        GoodsLot, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    quantity = QuantityField(default=0)
    from_place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="movements_from"
    )
    to_place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="movements_to"
    )
    from_state = models.CharField(max_length=8, choices=State, blank=True)
    to_state = models.CharField(max_length=8, choices=State, blank=True)
    value = MoneyField(default=0)
    account = models.CharField(max_length=12, choices=Account, blank=True, default=Account.NONE)
    price = MoneyField(null=True, blank=True)  # what a sold piece brought
    job_number = models.CharField(max_length=20, blank=True)  # as text: the floor above knows the job
    parts_area = models.BigIntegerField(default=0)  # square ticks, for a cut
    waste_area = models.BigIntegerField(default=0)  # kerf in it
    part_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="others"
    )
    undoes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by"
    )
    key = models.CharField(max_length=64, blank=True)
    note = models.CharField(max_length=200, blank=True)

    objects = MovementQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["-at"], name="movement_by_time"),
            models.Index(fields=["account", "-at"], name="movement_by_account"),
            models.Index(fields=["job_number"], name="movement_by_job"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["by", "key"],
                condition=~Q(key=""),
                name="the_same_tap_counts_once",
                violation_error_message="This tap has been counted already.",
            ),
            models.CheckConstraint(
                condition=Q(piece__isnull=False, lot__isnull=True) | Q(piece__isnull=True, lot__isnull=False),
                name="movement_is_of_one_thing",
                violation_error_message="A movement is of one piece or of one lot of goods.",
            ),
            models.CheckConstraint(
                condition=Q(value=0) | ~Q(account=""),
                name="value_has_another_side",
                violation_error_message="Value that moves comes from somewhere and goes somewhere.",
            ),
            models.CheckConstraint(
                condition=Q(verb="undo", undoes__isnull=False) | Q(~Q(verb="undo"), undoes__isnull=True),
                name="undo_names_what_it_undoes",
                violation_error_message="An undoing names what it undoes.",
            ),
            models.CheckConstraint(
                condition=Q(parts_area__gte=0, waste_area__gte=0),
                name="cut_areas_not_negative",
                violation_error_message="The parts and offcuts are more than the piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_verb_display()} {self.piece or self.lot}"

    @property
    def is_undone(self) -> bool:
        """Whether a later movement has undone it (loaded by `with_all_shown`)."""
        return getattr(self, "undone_by", None) is not None
