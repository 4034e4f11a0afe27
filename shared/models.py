"""Who signs in, and the shop's settings."""

from decimal import Decimal

from django.contrib.auth.models import AbstractUser, UserManager
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone

from shared.fields import MoneyField, TicksField, UnitField
from shared.measure import inches

__all__ = ["CodeCounter", "MoneyField", "Person", "SentForm", "Shop", "SignInLink", "WrongSignIn"]


class PersonManager(UserManager["Person"]):
    """People; a phone that writes a sign-in name with a capital finds the same person."""

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(username__iexact=username)


class Person(AbstractUser):
    """Who signs in. The role is a group: owner, buyer or bench."""

    objects = PersonManager()  # type: ignore[misc]

    class Meta(AbstractUser.Meta):
        verbose_name_plural = "people"
        constraints = [
            models.UniqueConstraint(
                Lower("username"),
                name="sign_in_name_once_whatever_its_capitals",
                violation_error_message="Someone has this sign-in name already.",
            ),
        ]

    @property
    def shown_name(self) -> str:
        """What others call this person."""
        return self.get_full_name() or self.username


class SignInLink(models.Model):
    """A sign-in that works once, for the first start or a forgotten password. Only its digest is kept."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE)
    digest = models.CharField(max_length=64, unique=True)
    expires = models.DateTimeField()
    used = models.DateTimeField(null=True, blank=True)

    @property
    def is_open(self) -> bool:
        """Whether it still signs someone in."""
        return self.used is None and self.expires > timezone.now()


class WrongSignIn(models.Model):
    """A sign-in that was refused, kept as long as it counts against the next from the same address."""

    username = models.CharField(max_length=150)  # lower case
    address = models.CharField(max_length=45)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes = [models.Index(fields=["username", "address", "at"], name="wrong_sign_in_by_who_and_where")]


class SentForm(models.Model):
    """A form that was sent and done: the same one sent again leads where it led, and does nothing more."""

    by = models.ForeignKey(Person, on_delete=models.CASCADE)
    key = models.CharField(max_length=64)
    led_to = models.CharField(max_length=500)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["by", "key"],
                name="the_same_form_counts_once",
                violation_error_message="This form has been counted already.",
            ),
        ]


class CodeCounter(models.Model):
    """The last number given to a label; codes are made from it and never used again."""

    last = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pk=1), name="one_code_counter", violation_error_message="There is one counter."
            ),
        ]


class Shop(models.Model):
    """The shop's settings, one row. Lengths in ticks."""

    UNITS = [("in", "inches"), ("mm", "millimetres")]
    FIRST_CUTS = [("either", "whichever saves more"), ("rip", "rip first"), ("crosscut", "crosscut first")]
    COSTING = [("fifo", "first in, first out"), ("average", "weighted average")]

    name = models.CharField(max_length=80, default="The shop")
    unit = UnitField(max_length=2, choices=UNITS, default="in")
    currency = models.CharField(max_length=3, default="USD")
    time_zone = models.CharField(max_length=60, default="UTC")
    scan_address = models.CharField(max_length=120, default="HTTP://LOCALHOST:8000", blank=True)
    is_set_up = models.BooleanField(default=False)

    kerf = TicksField(default=inches("1/8"))
    trim = TicksField(default=inches("1/4"))
    longest_rip = TicksField(null=True, blank=True)
    widest_crosscut = TicksField(null=True, blank=True)
    least_strip = TicksField(null=True, blank=True)
    first_cut = models.CharField(
        max_length=10,
        default="either",
        choices=FIRST_CUTS,
    )
    stages = models.PositiveSmallIntegerField(null=True, blank=True)
    planning_seconds = models.PositiveSmallIntegerField(default=5, validators=[MinValueValidator(1)])

    keep_length = TicksField(default=inches(12))
    keep_width = TicksField(default=inches(4))
    keep_rate = models.DecimalField(max_digits=4, decimal_places=3, default=Decimal("0.500"))

    rough_length = TicksField(default=inches(1))
    rough_width = TicksField(default=inches("1/4"))
    waste_on_net = models.DecimalField(max_digits=4, decimal_places=3, default=Decimal("0.200"))
    board_first_cut = models.CharField(max_length=10, default="crosscut", choices=FIRST_CUTS)
    edging_strip = TicksField(default=inches("1/4"))
    edging_spare = TicksField(default=inches(1))
    edging_proud = TicksField(default=inches("1/16"))
    stave_least = TicksField(default=inches("1 1/2"))
    stave_most = TicksField(default=inches(5))
    glue_joint = TicksField(default=inches("1/16"))
    glue_trim = TicksField(default=inches("1/2"))

    goods_costing = models.CharField(max_length=8, choices=COSTING, default="fifo")
    markup_sheet = models.DecimalField(max_digits=5, decimal_places=3, default=Decimal(0))
    markup_lumber = models.DecimalField(max_digits=5, decimal_places=3, default=Decimal(0))
    markup_goods = models.DecimalField(max_digits=5, decimal_places=3, default=Decimal(0))
    contingency = models.DecimalField(max_digits=5, decimal_places=3, default=Decimal(0))
    tax_rate = models.DecimalField(max_digits=7, decimal_places=5, default=Decimal(0))  # 8.875 % is 0.08875
    tax_name = models.CharField(max_length=30, default="Tax")
    label_layout = models.CharField(max_length=30, default="letter-30")
    label_offset_x_mm = models.DecimalField(max_digits=4, decimal_places=1, default=Decimal(0))
    label_offset_y_mm = models.DecimalField(max_digits=4, decimal_places=1, default=Decimal(0))

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pk=1), name="one_shop", violation_error_message="There is one shop."
            ),
            models.CheckConstraint(
                condition=Q(kerf__gte=0, trim__gte=0, keep_length__gt=0, keep_width__gt=0),
                name="shop_cuts_and_keeps_sizes_that_make_sense",
                violation_error_message="Kerf and trim can't be below zero; the offcuts kept need a size.",
            ),
            models.CheckConstraint(
                condition=Q(keep_rate__gte=0, keep_rate__lte=1, waste_on_net__gte=0, waste_on_net__lte=5),
                name="shop_rates_are_shares",
                violation_error_message="The keep rate lies between 0 and 1, the waste between 0 and 5.",
            ),
            models.CheckConstraint(
                condition=Q(
                    markup_sheet__gte=0,
                    markup_lumber__gte=0,
                    markup_goods__gte=0,
                    contingency__gte=0,
                    tax_rate__gte=0,
                    tax_rate__lte=1,
                ),
                name="shop_puts_nothing_negative_on_top",
                violation_error_message="Markup, contingency and tax can't be below zero, nor tax above 100 %.",
            ),
            models.CheckConstraint(
                condition=Q(stave_least__gt=0, stave_most__gte=F("stave_least")),
                name="shop_staves_have_a_range",
                violation_error_message="The widest stave can't be narrower than the narrowest.",
            ),
            models.CheckConstraint(
                condition=Q(unit__in=["in", "mm"]),
                name="shop_measures_in_inches_or_millimetres",
                violation_error_message="A shop measures in inches or millimetres.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
