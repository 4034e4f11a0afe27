"""What a job was reckoned to cost when it was quoted, line by line, and the goods it wants."""

from django.db import models
from django.db.models import Q

from inventory.models import Material, Piece
from jobs.models.job import Job
from shared.fields import MoneyField, QuantityField


class EstimateLine(models.Model):
    """One assumption of a frozen estimate; all lines of a job add up to its estimate."""

    class Sort(models.TextChoices):
        CHARGED = "charged", "charged before"
        RACK = "rack", "from the rack, at what it carries"
        BUY = "buy", "to buy"
        LUMBER = "lumber", "lumber to buy, waste in it"
        GOODS = "goods", "goods"
        BACK = "back", "given back by offcuts"

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="estimate_lines")
    sort = models.CharField(max_length=8, choices=Sort)
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    quantity = QuantityField(default=1)
    unit = models.CharField(max_length=20)
    price = MoneyField(default=0)
    amount = MoneyField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0, price__gte=0),
                name="estimate_line_counts_something",
                violation_error_message="A line of an estimate needs a quantity above zero and no price below.",
            ),
            models.CheckConstraint(
                condition=~Q(sort="rack") | Q(piece__isnull=False),
                name="estimate_from_the_rack_names_the_piece",
                violation_error_message="What is estimated from the rack is one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_sort_display()} {self.amount}"


class GoodsWanted(models.Model):
    """How many of some goods a job needs: its list for the bench, and a line of its estimate."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="goods_wanted")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    quantity = QuantityField()

    class Meta:
        ordering = ["material__name"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "material"],
                name="goods_wanted_once_a_job",
                violation_error_message="These goods are on the job's list already.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="some_goods_are_wanted",
                violation_error_message="The quantity must be above zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.material}"


class Quote(models.Model):
    """The material side of a quote: what is put on top of the estimate. Shares: 0.150 is 15 %."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="quote")
    markup_sheet = models.DecimalField(max_digits=5, decimal_places=3, default=0)
    markup_lumber = models.DecimalField(max_digits=5, decimal_places=3, default=0)
    markup_goods = models.DecimalField(max_digits=5, decimal_places=3, default=0)
    contingency = models.DecimalField(max_digits=5, decimal_places=3, default=0)
    tax_rate = models.DecimalField(max_digits=7, decimal_places=5, default=0)
    tax_name = models.CharField(max_length=30, default="Tax")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    markup_sheet__gte=0,
                    markup_lumber__gte=0,
                    markup_goods__gte=0,
                    contingency__gte=0,
                    tax_rate__gte=0,
                    tax_rate__lte=1,
                ),
                name="quote_puts_nothing_negative_on_top",
                violation_error_message="Markup, contingency and tax can't be below zero, nor tax above 100 %.",
            ),
        ]


class QuoteLine(models.Model):
    """What is typed in beside the material: labour, delivery. Not this tool's trade."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="lines")
    what = models.CharField(max_length=80)
    quantity = QuantityField(default=1)
    price = MoneyField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gt=0, price__gte=0),
                name="quote_line_counts_something",
                violation_error_message="A line needs a quantity above zero and a price not below it.",
            ),
        ]

    def __str__(self) -> str:
        return self.what
