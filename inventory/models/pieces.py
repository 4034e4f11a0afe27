"""Sheets, offcuts and boards: one row, one label."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import F, Q

from inventory.models.materials import Material
from inventory.models.places import Place
from inventory.models.receipts import ReceiptLine
from shared.fields import MoneyField, TicksField
from shared.measure import weight_kg


class State(models.TextChoices):
    """What has become of a piece."""

    ON_RACK = "rack", "on the rack"
    PULLED = "pulled", "pulled"
    USED = "used", "used"
    SCRAPPED = "scrapped", "scrapped"
    LOST = "lost", "lost"
    SOLD = "sold", "sold"
    VOID = "void", "entered by mistake"


IN_SHOP = [State.ON_RACK, State.PULLED]


class PieceQuerySet(models.QuerySet["Piece"]):
    """Pieces, narrowed down as one does in front of the rack."""

    def in_shop(self) -> "PieceQuerySet":
        """On the rack or pulled: what the shop still has."""
        return self.filter(state__in=IN_SHOP)

    def in_rack(self) -> "PieceQuerySet":
        return self.filter(state=State.ON_RACK)

    def free(self) -> "PieceQuerySet":
        """On the rack and promised to no job."""
        return self.in_rack().filter(hold__isnull=True)

    def free_for(self, job_pk: int) -> "PieceQuerySet":
        """What a job may be planned from: free pieces and its own."""
        return self.in_shop().filter(Q(state=State.ON_RACK, hold__isnull=True) | Q(hold__job_id=job_pk))

    def of(self, *materials: Material) -> "PieceQuerySet":
        return self.filter(material__in=materials)

    def offcuts(self) -> "PieceQuerySet":
        return self.filter(kind=Piece.Kind.OFFCUT)

    def at_least(self, length: int | None, width: int | None, *, with_grain: bool = False) -> "PieceQuerySet":
        """Pieces this long by this wide, in ticks. Without `with_grain`, either way round, and where a
        material has no grain either way always."""
        length, width = length or 0, width or 0
        as_asked = Q(length__gte=length, width__gte=width)
        turned = Q(length__gte=width, width__gte=length)
        if with_grain:
            return self.filter(as_asked | (turned & Q(material__is_grained=False)))
        return self.filter(as_asked | turned)

    def with_all_shown(self) -> "PieceQuerySet":
        """With all that a list of pieces shows, in one query."""
        return self.select_related("material", "material__species", "place", "hold", "hold__job")


class Piece(models.Model):
    """One physical thing with a label. Length runs with the grain, width across it, in ticks.

    Its state, place and value are what its movements say; only `inventory.ledger` writes them.
    """

    class Kind(models.TextChoices):
        SHEET = "sheet", "sheet"
        OFFCUT = "offcut", "offcut"
        BOARD = "board", "board"

    class Surface(models.TextChoices):
        ROUGH = "rough", "rough"
        SURFACED = "surfaced", "surfaced"

    code = models.CharField(max_length=6, unique=True)
    kind = models.CharField(max_length=6, choices=Kind)
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="pieces")
    length = TicksField()
    width = TicksField()
    thickness = TicksField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.VOID)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    value = MoneyField(default=0)
    parent = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="offcuts"
    )
    # An odd shape is kept as the rectangles that can be cut from it: the first of them, on the others.
    one_with = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="others_of_shape"
    )
    was_put_in = models.BooleanField(default=False)
    receipt_line = models.ForeignKey(
        ReceiptLine, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces"
    )
    bought_on = models.ForeignKey(  # an offcut's is its parent's: whom the wood was bought from
        ReceiptLine, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    surface = models.CharField(max_length=8, choices=Surface, blank=True)
    board_feet = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    tally_board_feet = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    if TYPE_CHECKING:
        hold: Any  # jobs.Hold, from the floor above

    objects = PieceQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        indexes = [
            models.Index(fields=["state", "material", "length", "width"], name="piece_by_size"),
            models.Index(fields=["state", "place"], name="piece_by_place"),
            models.Index(fields=["state", "-made_at"], name="piece_by_age"),
            models.Index(fields=["state", "width"], name="piece_by_width"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(length__gt=0, width__gt=0),
                name="piece_has_a_size",
                violation_error_message="A piece needs a length and a width above zero.",
            ),
            models.CheckConstraint(
                condition=Q(value__gte=0),
                name="piece_value_not_negative",
                violation_error_message="A piece can't be worth less than nothing.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="offcut") | Q(parent__isnull=False) | Q(was_put_in=True),
                name="offcut_came_from_somewhere",
                violation_error_message="An offcut was left from a piece or was put in.",
            ),
            models.CheckConstraint(
                condition=Q(state="rack") | Q(place__isnull=True),
                name="only_the_rack_has_places",
                violation_error_message="A piece that is not on the rack has no place.",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["rack", "pulled"]) | Q(value=0),
                name="a_piece_gone_carries_nothing",
                violation_error_message="A piece that is gone carries no value.",
            ),
            models.CheckConstraint(
                condition=Q(parent__isnull=True) | ~Q(parent=F("id")),
                name="no_piece_from_itself",
                violation_error_message="A piece can't be cut from itself.",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def area(self) -> int:
        """Square ticks."""
        return self.length * self.width

    @property
    def is_in_shop(self) -> bool:
        return self.state in IN_SHOP

    @property
    def actual_thickness(self) -> int:
        """Ticks: as measured, or as its material is."""
        return self.thickness or self.material.thickness or 0

    @property
    def weight_kg(self) -> Decimal | None:
        """By its material's density, or None where that or a thickness is not known."""
        if not self.material.density or not self.actual_thickness:
            return None
        return weight_kg(self.length, self.width, self.actual_thickness, self.material.density)

    @property
    def holder(self) -> Any:
        """The job it is promised to, or None."""
        hold = getattr(self, "hold", None)
        return hold.job if hold else None

    @property
    def still_one_with(self) -> list["Piece"]:
        """The other rectangles of its odd shape that are not sawn off yet."""
        first = self.one_with_id or self.pk
        shape = Piece.objects.filter(Q(pk=first) | Q(one_with=first)).exclude(pk=self.pk)
        return list(shape.in_shop()) if self.is_in_shop else []

    def fits(self, length: int, width: int, *, with_grain: bool = False) -> bool:
        """Whether this much can be cut from it, in ticks."""
        as_asked = length <= self.length and width <= self.width
        turned = width <= self.length and length <= self.width
        return as_asked or (turned and not (with_grain and self.material.is_grained))


class Flaw(models.Model):
    """A rectangle on a piece that no part may lie over: a knot, a split, a dent. Ticks from its corner."""

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="flaws")
    x = TicksField()
    y = TicksField()
    length = TicksField()
    width = TicksField()
    why = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(x__gte=0, y__gte=0, length__gt=0, width__gt=0),
                name="flaw_has_a_size",
                violation_error_message="A flaw needs a length and a width above zero, within its piece.",
            ),
        ]

    def __str__(self) -> str:
        return self.why or "flaw"
