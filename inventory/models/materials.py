"""What things are, who sells them, and what a parts list calls them."""

from decimal import Decimal
from fractions import Fraction

from django.apps import apps
from django.db import models
from django.db.models import Count, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce, Lower

from inventory import dressed
from shared import measure
from shared.fields import MoneyField, QuantityField, TicksField


class Species(models.Model):
    """A wood and its published figures; rows with a source came with the program."""

    name = models.CharField(max_length=60, unique=True)
    botanical_name = models.CharField(max_length=80, blank=True)
    specific_gravity = models.DecimalField(max_digits=4, decimal_places=3, null=True, blank=True)
    shrinkage_radial_pct = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    shrinkage_tangential_pct = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    movement_radial = models.DecimalField(max_digits=7, decimal_places=6, null=True, blank=True)
    movement_tangential = models.DecimalField(max_digits=7, decimal_places=6, null=True, blank=True)
    density_kg_m3 = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    source = models.CharField(max_length=300, blank=True)
    basis = models.CharField(max_length=10, blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "species"

    def __str__(self) -> str:
        return self.name

    @property
    def cited(self) -> str:
        """Where its figures are from, and how surely."""
        doubt = {"mixed": ", in part from memory", "memory": ", from memory"}.get(self.basis, "")
        return f"{self.source}{doubt}" if self.source else ""


class MaterialQuerySet(models.QuerySet["Material"]):
    """Materials by what they are."""

    def in_use(self) -> "MaterialQuerySet":
        """Those the shop still keeps."""
        return self.filter(retired=False)

    def sheet_goods(self) -> "MaterialQuerySet":
        return self.filter(kind=Material.Kind.SHEET)

    def lumber(self) -> "MaterialQuerySet":
        return self.filter(kind=Material.Kind.LUMBER)

    def goods(self) -> "MaterialQuerySet":
        return self.filter(kind=Material.Kind.GOODS)

    def with_stock(self) -> "MaterialQuerySet":
        """With `on_rack` (how many pieces) and `left` (goods, in their unit) on each, in one query."""
        of_it = {"material": OuterRef("pk")}
        pieces = apps.get_model("inventory", "Piece").objects.in_rack().filter(**of_it)
        lots = apps.get_model("inventory", "GoodsLot").objects.filter(**of_it)
        on_rack = pieces.order_by().values("material").annotate(n=Count("pk")).values("n")
        left = lots.order_by().values("material").annotate(n=Sum("left")).values("n")
        return self.select_related("species").annotate(
            on_rack=Coalesce(Subquery(on_rack), 0),
            left=Coalesce(Subquery(left), Value(Decimal(0), output_field=QuantityField())),
        )


class Material(models.Model):
    """What something is: white oak plywood 3/4 veneer core; ash 5/4; a pair of hinges."""

    class Kind(models.TextChoices):
        SHEET = "sheet", "sheet goods"
        LUMBER = "lumber", "lumber"
        GOODS = "goods", "goods"

    kind = models.CharField(max_length=6, choices=Kind)
    name = models.CharField(max_length=80)
    code = models.CharField(max_length=6, blank=True, help_text="On the shelf's label, for goods.")
    species = models.ForeignKey(Species, on_delete=models.PROTECT, null=True, blank=True)
    core = models.CharField(max_length=40, blank=True)
    thickness_text = models.CharField(max_length=20, blank=True)  # as the trade says it: 3/4, 18 mm, 5/4
    thickness = TicksField(null=True, blank=True)  # as a caliper says it
    is_grained = models.BooleanField(default=True)
    is_dressed = models.BooleanField(default=False)  # softwood planed to size: sold by a nominal one
    density_kg_m3 = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    formaldehyde_class = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=20, blank=True)
    reorder_point = QuantityField(null=True, blank=True)
    is_counted_whole = models.BooleanField(default=True)
    note = models.CharField(max_length=300, blank=True)
    retired = models.BooleanField(default=False)

    objects = MaterialQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.UniqueConstraint(
                "kind",
                Lower("name"),
                name="material_name_once_a_kind",
                violation_error_message="There is a material of this kind with this name already.",
            ),
            models.UniqueConstraint(
                fields=["code"],
                condition=~Q(code=""),
                name="material_code_once",
                violation_error_message="Another material has this code.",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["sheet", "lumber", "goods"]),
                name="material_is_of_a_known_kind",
                violation_error_message="A material is sheet goods, lumber or goods.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="lumber") | ~Q(thickness_text=""),
                name="lumber_has_a_quarter",
                violation_error_message="Lumber needs its quarter: 4/4, 5/4, 8/4.",
            ),
            models.CheckConstraint(
                condition=Q(is_dressed=False) | Q(kind="lumber"),
                name="only_lumber_is_dressed",
                violation_error_message="Only lumber is sold by a nominal size.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="goods") | ~Q(unit=""),
                name="goods_have_a_unit",
                violation_error_message="Goods need the unit they are counted in: each, pair, litre.",
            ),
            models.CheckConstraint(
                condition=Q(kind="goods") | Q(thickness__isnull=False, thickness__gt=0),
                name="material_has_a_thickness",
                violation_error_message="Sheet goods and lumber need an actual thickness above zero.",
            ),
            models.CheckConstraint(
                condition=Q(density_kg_m3__isnull=True) | Q(density_kg_m3__gt=0),
                name="material_density_above_zero",
                violation_error_message="A density is above zero.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_goods(self) -> bool:
        return self.kind == self.Kind.GOODS

    @property
    def is_lumber(self) -> bool:
        return self.kind == self.Kind.LUMBER

    @property
    def is_sheet_goods(self) -> bool:
        return self.kind == self.Kind.SHEET

    @property
    def density(self) -> Decimal | None:
        """kg/m³: its own, or its species' for lumber."""
        if self.density_kg_m3 is not None:
            return self.density_kg_m3
        return self.species.density_kg_m3 if self.is_lumber and self.species else None

    @property
    def sold_thickness(self) -> int:
        """Ticks that board feet are counted by: the quarter as the trade says it, whatever a caliper says."""
        try:
            return measure.parse_length(self.thickness_text, "in")
        except measure.NotALength:
            return self.thickness or 0

    def sold_width(self, width: int) -> int:
        """Ticks that a board's width counts for in board feet: its own, or what dressed softwood is sold as."""
        return dressed.nominal_width(width) if self.is_dressed else width

    def board_feet(self, width: int, length: int) -> Fraction:
        """Board feet of a board of this size, in ticks, by volume; not rounded."""
        return measure.board_feet(self.sold_thickness, self.sold_width(width), length)


def normal_name(text: str) -> str:
    """A material's name as it is compared: case and spacing do not matter."""
    return " ".join(text.lower().split())


class MaterialName(models.Model):
    """Another name a parts list used for a material, remembered when someone answered for it."""

    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="names")
    name = models.CharField(max_length=120)
    normal = models.CharField(
        max_length=120,
        unique=True,
        error_messages={"unique": "This name already stands for another material."},
    )

    def __str__(self) -> str:
        return self.name


class Supplier(models.Model):
    """Who sells it."""

    name = models.CharField(
        max_length=80, unique=True, error_messages={"unique": "There is a supplier with this name already."}
    )
    reach = models.CharField("phone or e-mail", max_length=120, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class OfferQuerySet(models.QuerySet["Offer"]):
    """Who sells what at which price."""

    def current(self) -> "OfferQuerySet":
        return self.filter(is_current=True)


class Offer(models.Model):
    """A standard size with its price. For sheets the second figure of the trade's size is the grain's way:
    a 4 × 8 has a length of 8 ft, an 8 × 4 one of 4 ft. The two are never sorted."""

    class Per(models.TextChoices):
        SHEET = "sheet", "sheet"
        BOARD_FOOT = "board foot", "board foot"
        UNIT = "unit", "unit"

    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="offers")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="offers")
    length = TicksField(null=True, blank=True)
    width = TicksField(null=True, blank=True)
    price = MoneyField()
    pack = QuantityField(default=1)  # of goods: how many of their unit the price is for
    pack_name = models.CharField(max_length=40, blank=True)
    per = models.CharField(max_length=10, choices=Per)
    seen_on = models.DateField()
    is_current = models.BooleanField(default=True)

    objects = OfferQuerySet.as_manager()

    class Meta:
        ordering = ["material", "-is_current", "price"]
        constraints = [
            models.CheckConstraint(
                condition=Q(price__gte=0),
                name="offer_price_not_negative",
                violation_error_message="A price can't be below zero.",
            ),
            models.CheckConstraint(
                condition=Q(pack__gt=0),
                name="offered_pack_holds_something",
                violation_error_message="A pack holds more than nothing.",
            ),
            models.CheckConstraint(
                condition=~Q(per="sheet")
                | Q(length__isnull=False, width__isnull=False, length__gt=0, width__gt=0),
                name="offered_sheet_has_a_size",
                violation_error_message="A sheet on offer needs its length and width.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.material} from {self.supplier}"

    @property
    def unit_price(self) -> Decimal:
        """The price of one: of a pack's share for goods, not rounded."""
        return self.price / self.pack

    @property
    def sheet_length(self) -> int:
        """Ticks with the grain; 0 where it is no sheet's offer."""
        return self.length or 0

    @property
    def sheet_width(self) -> int:
        """Ticks across the grain; 0 where it is no sheet's offer."""
        return self.width or 0
