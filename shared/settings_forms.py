"""Forms for the shop's settings, a form a group, and for a new shop's first page."""

import re
import zoneinfo
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from shared import addresses, measure
from shared.fields import CountInput, LengthInput, ShopModelForm
from shared.models import Shop
from shared.quoting import quoted

TIME_ZONES = [
    (name, name.replace("_", " "))
    for name in sorted(zoneinfo.available_timezones())
    if name == "UTC" or name.partition("/")[0] in {
        "Africa", "America", "Antarctica", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific",
    }
]  # fmt: skip


class PercentInput(forms.CharField):
    """A share typed as a percentage; its value is a Decimal to a tenth of a percent, or as many `places` of one
    as are kept: 50 is 0.5."""

    def __init__(self, *, most: int = 100, places: int = 1, **options: Any) -> None:
        self.most, self.places = most, places
        super().__init__(max_length=12, **options)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "class": "input-count"})

    def clean(self, value: Any) -> Any:
        text: str = super().clean(value)
        number = text.replace(",", ".").removesuffix("%").strip()
        is_share = re.fullmatch(rf"\d{{1,3}}(\.\d{{1,{self.places}}})?", number, re.ASCII)
        if not is_share or Decimal(number) > self.most:
            would_do = "50 or 12.5" if self.places == 1 else "7 or 7.25"
            raise ValidationError(f"{quoted(text)} is no percentage from 0 to {self.most}. Write {would_do}.")
        return Decimal(number) / 100

    def prepare_value(self, value: Any) -> Any:
        """A share is shown as a percentage; what was typed comes back as typed."""
        return f"{(value * 100).normalize():f}" if isinstance(value, Decimal) else value


class ScanAddressInput(forms.CharField):
    """The address that labels lead to; its value is as it is printed."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=120, required=False, **options)
        self.widget.attrs.update({"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"})

    def clean(self, value: Any) -> Any:
        text: str = super().clean(value)
        try:
            return addresses.parse_scan_address(text) if text else ""
        except addresses.NotAnAddress as error:
            raise ValidationError(str(error)) from error


class CurrencyInput(forms.CharField):
    """A currency by its three letters (ISO 4217)."""

    def clean(self, value: Any) -> Any:
        text: str = super().clean(value).upper()
        if not re.fullmatch("[A-Z]{3}", text, re.ASCII):
            raise ValidationError(f"{quoted(text)} is no currency. Write its three letters: USD, CAD, EUR.")
        return text


class TheShopForm(ShopModelForm):
    title, lead = "The shop", ""
    name = forms.CharField(label="Name", max_length=80, help_text="As clients and suppliers know it.")
    unit = forms.ChoiceField(
        label="Lengths in",
        choices=Shop.UNITS,
        widget=forms.RadioSelect,
        help_text="How lengths are shown, and what a bare number means. The other is always understood.",
    )
    currency = CurrencyInput(
        max_length=12,
        help_text="Its three letters: USD, CAD, EUR.",
        widget=forms.TextInput(attrs={"class": "input-count", "autocomplete": "off"}),
    )
    time_zone = forms.ChoiceField(
        label="Time zone", choices=TIME_ZONES, help_text="Dates and times are shown in it."
    )
    scan_address = ScanAddressInput(
        label="Scan address",
        help_text="Where a label's QR leads: this server as a phone on the shop's Wi-Fi opens it. "
        "Labels printed before keep the old one. Empty: labels carry only the code.",
    )

    class Meta:
        model = Shop
        fields = ["name", "unit", "currency", "time_zone", "scan_address"]


class SawForm(ShopModelForm):
    title, lead = "The saw", "What plans reckon with. Measure a cut, not the blade's box."
    kerf = LengthInput(label="Kerf", zero_ok=True, help_text="What one cut takes.")
    trim = LengthInput(
        label="Trim", zero_ok=True, help_text="Cut off each edge of a new sheet first; offcuts get none."
    )
    longest_rip = LengthInput(
        label="Longest rip",
        required=False,
        help_text="Plans say where a rip is longer than the saw or the room takes.",
    )
    widest_crosscut = LengthInput(
        label="Widest crosscut",
        required=False,
        help_text="Plans say where a crosscut is wider than the sled takes.",
    )
    least_strip = LengthInput(
        label="Least strip",
        required=False,
        help_text="Plans warn where a strip is narrower than this. Empty: the usual figure.",
    )

    class Meta:
        model = Shop
        fields = ["kerf", "trim", "longest_rip", "widest_crosscut", "least_strip"]


class PlanningForm(ShopModelForm):
    title, lead = "Planning", ""
    first_cut = forms.ChoiceField(
        label="First cut", choices=Shop.FIRST_CUTS, help_text="Of each sheet, board or offcut."
    )
    stages = CountInput(
        label="Changes of direction",
        required=False,
        min_value=1,
        max_value=20,
        help_text="Most in one layout: 2 is quick to saw, 3 saves more. Empty: no limit.",
    )
    planning_seconds = CountInput(
        label="Seconds for a plan",
        min_value=1,
        max_value=600,
        help_text="After this the best plan found so far is shown.",
    )

    class Meta:
        model = Shop
        fields = ["first_cut", "stages", "planning_seconds"]


class KeepingForm(ShopModelForm):
    title, lead = "Offcuts worth keeping", "What is smaller goes to the bin and is charged to the job."
    keep_length = LengthInput(label="At least this long", help_text="Either way round.")
    keep_width = LengthInput(label="At least this wide", help_text="Either way round.")
    keep_rate = PercentInput(
        label="Keep rate, %",
        help_text="The share of its area's cost that an offcut carries back to the rack.",
    )

    class Meta:
        model = Shop
        fields = ["keep_length", "keep_width", "keep_rate"]


class LumberForm(ShopModelForm):
    title, lead = "Solid wood", "What is added to the sizes on a parts list."
    rough_length = LengthInput(
        label="More length", zero_ok=True, help_text="Added to a part before it is rough cut."
    )
    rough_width = LengthInput(
        label="More width", zero_ok=True, help_text="Added to a part before it is rough ripped."
    )
    waste_on_net = PercentInput(
        label="Waste on net, %",
        most=500,
        help_text="Added to the parts' board feet on a buy list, for knots, splits and colour.",
    )

    board_first_cut = forms.ChoiceField(
        label="First cut of a board", choices=Shop.FIRST_CUTS, help_text="Crosscut first is common practice."
    )

    class Meta:
        model = Shop
        fields = ["rough_length", "rough_width", "waste_on_net", "board_first_cut"]


class EdgingForm(ShopModelForm):
    title, lead = "Edging", "Solid strips on the edges of panels, where the parts list says no other."
    edging_strip = LengthInput(label="Strip thickness", help_text="What a strip adds to the panel.")
    edging_proud = LengthInput(
        label="Proud of the panel",
        zero_ok=True,
        help_text="A strip is so much higher than the panel is thick; trimmed flush after gluing. "
        "1/16 in is common practice, no source.",
    )
    edging_spare = LengthInput(
        label="Length to spare", zero_ok=True, help_text="Added to each strip and each length of a roll."
    )

    class Meta:
        model = Shop
        fields = ["edging_strip", "edging_proud", "edging_spare"]


class GluingForm(ShopModelForm):
    title, lead = "Glued-up panels", "How wide their staves may be, and what gluing takes."
    stave_least = LengthInput(label="Narrowest stave")
    stave_most = LengthInput(label="Widest stave")
    glue_joint = LengthInput(
        label="Taken by a joint", zero_ok=True, help_text="What jointing both edges takes."
    )
    glue_trim = LengthInput(
        label="Trimmed off the panel", zero_ok=True, help_text="Of its width, after it is glued up."
    )

    class Meta:
        model = Shop
        fields = ["stave_least", "stave_most", "glue_joint", "glue_trim"]


class GoodsCostingForm(ShopModelForm):
    title, lead = "Goods", "Sheets, offcuts and boards always cost what each of them cost."
    goods_costing = forms.ChoiceField(
        label="Cost of goods",
        choices=Shop.COSTING,
        widget=forms.RadioSelect,
        help_text="Which price a hinge from the shelf carries into a job. Choose once and stay with it.",
    )

    class Meta:
        model = Shop
        fields = ["goods_costing"]


class QuotesForm(ShopModelForm):
    title, lead = "Quotes", "What a new quote puts on top of the material’s cost; each quote can change it."
    markup_sheet = PercentInput(label="Markup on sheet goods, %", most=900)
    markup_lumber = PercentInput(label="Markup on lumber, %", most=900)
    markup_goods = PercentInput(label="Markup on goods, %", most=900)
    contingency = PercentInput(label="Contingency, %", help_text="On all material, for what nobody foresaw.")
    tax_rate = PercentInput(label="Tax, %", places=3)
    tax_name = forms.CharField(label="What the tax is called", max_length=30)

    class Meta:
        model = Shop
        fields = ["markup_sheet", "markup_lumber", "markup_goods", "contingency", "tax_rate", "tax_name"]


GROUPS: dict[str, type[ShopModelForm]] = {
    "shop": TheShopForm,
    "saw": SawForm,
    "planning": PlanningForm,
    "keeping": KeepingForm,
    "lumber": LumberForm,
    "goods": GoodsCostingForm,
    "quotes": QuotesForm,
    "edging": EdgingForm,
    "gluing": GluingForm,
}


class FirstRunForm(TheShopForm):
    """What a new shop must say. A bare length is in the unit chosen on the same page."""

    kerf = LengthInput(label="Saw kerf", zero_ok=True, help_text="What one cut of your saw takes.")
    keep_length = LengthInput(
        label="Smallest offcut worth keeping: length", help_text="What is smaller goes to the bin."
    )
    keep_width = LengthInput(label="Smallest offcut worth keeping: width")

    class Meta:
        model = Shop
        fields = [*TheShopForm.Meta.fields, "kerf", "keep_length", "keep_width"]

    field_order = [
        "name",
        "unit",
        "currency",
        "kerf",
        "keep_length",
        "keep_width",
        "scan_address",
        "time_zone",
    ]

    def __init__(self, *args: Any, shop: Shop, **options: Any) -> None:
        super().__init__(*args, shop=shop, **options)
        for name, field in self.fields.items():
            if isinstance(field, LengthInput):
                # With its unit, so that choosing the other unit above does not change what it says.
                self.initial[name] = measure.format_length_with_unit(getattr(shop, name), "in")
                field.unit = "mm" if self.data.get("unit") == "mm" else "in"
        self.initial["name"] = "" if shop.name == Shop._meta.get_field("name").default else shop.name
        if shop.time_zone == "UTC":
            self.initial["time_zone"] = addresses.time_zone_here()
