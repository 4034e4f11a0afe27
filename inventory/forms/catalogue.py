"""What the shop says of materials, places and suppliers."""

from collections.abc import Iterable
from copy import copy
from typing import Any

from django import forms
from django.utils import timezone

from inventory import dressed
from inventory.forms.fields import DayInput, OneOf, PackInput, QuantityInput, as_choices, with_pack
from inventory.models import Material, Place, Supplier
from shared.fields import LengthInput, MoneyInput, ShopForm, ShopModelForm
from shared.measure import format_length_with_unit

_SHEET = ["name", "species", "core", "thickness_text", "thickness", "is_grained"]
FIELDS_OF = {
    "sheet": [*_SHEET, "density_kg_m3", "formaldehyde_class", "note"],
    "lumber": [
        *("name", "species", "thickness_text", "thickness"),
        *("is_grained", "is_dressed", "density_kg_m3", "note"),
    ],
    "goods": ["name", "unit", "is_counted_whole", "reorder_point", "note"],
}
_THICKNESS_HINTS = {
    "sheet": "As the trade says it: 3/4, 18 mm.",
    "lumber": "The quarter, as the yard says it: 4/4, 5/4, 8/4. Board feet go by it.",
}


class MaterialForm(ShopModelForm):
    """A material of one kind: it asks only what that kind has."""

    kind = forms.CharField(widget=forms.HiddenInput, disabled=True)
    thickness = LengthInput(label="Thickness as measured", help_text="What a caliper says: 23/32, 17.5 mm.")
    density_kg_m3 = forms.DecimalField(
        label="Density in kg/m³",
        required=False,
        min_value=1,
        max_digits=6,
        decimal_places=1,
        help_text="For its weight. Lumber without one has its species’.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    reorder_point = QuantityInput(
        label="Order more at", required=False, help_text="When this many or fewer are left."
    )

    class Meta:
        model = Material
        fields = [
            "kind",
            *dict.fromkeys([*FIELDS_OF["sheet"], *FIELDS_OF["lumber"], *FIELDS_OF["goods"]]),
            "retired",
        ]
        labels = {
            "thickness_text": "Nominal thickness",
            "is_grained": "Has a grain, so that its length and width can't be swapped",
            "is_dressed": "Dressed softwood, sold by a nominal size",
            "formaldehyde_class": "Formaldehyde class",
            "unit": "Counted in",
            "is_counted_whole": "Only whole ones",
            "retired": "No longer kept: not offered on any form",
        }
        help_texts = {
            "name": "As the shop says it: white oak ply 3/4.",
            "is_dressed": "A 2 × 6 measures 1 1/2 × 5 1/2 in, and counts 2 × 6 in board feet.",
            "core": "As veneer core, MDF core, particleboard.",
            "formaldehyde_class": "As printed on the sheet or its papers: CARB 2, TSCA VI, E1.",
            "unit": "As each, pair, box, litre.",
        }

    def __init__(self, *args: Any, material: Material, **options: Any) -> None:
        # Checking a form writes into its row: that must not be the one of which is asked what has changed.
        super().__init__(*args, instance=copy(material), **options)
        kind = material.kind
        self.initial["kind"] = kind
        kept = {"kind", *FIELDS_OF[kind], *(["retired"] if self.instance.pk else [])}
        for name in set(self.fields) - kept:
            del self.fields[name]
        self.order_fields(["kind", *FIELDS_OF[kind], "retired"])
        if kind != Material.Kind.GOODS:
            self.fields["thickness_text"].help_text = _THICKNESS_HINTS[kind]
            self.fields["species"].empty_label = "none, or not known"  # type: ignore[attr-defined]
            self.fields["thickness_text"].required = kind == Material.Kind.LUMBER

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("is_dressed") and cleaned.get("thickness"):
            sold = Material(thickness_text=cleaned.get("thickness_text", "")).sold_thickness
            measures = dressed.measured_thickness(sold)
            if measures and cleaned["thickness"] >= sold:
                thick = format_length_with_unit(measures, "in")
                self.add_error("thickness", f"Dressed, it is thinner than it is called. This one is {thick}.")
        return cleaned

    def columns(self) -> dict[str, Any]:
        """What `add_material` and `change_material` take."""
        return {name: value for name, value in self.cleaned_data.items() if name != "kind"}


class OfferForm(ShopForm):
    """Who sells a material at which price, and for sheets in which size."""

    supplier = forms.ModelChoiceField(Supplier.objects.all(), empty_label="choose")
    length = LengthInput(label="Length, with the grain")
    width = LengthInput(label="Width, across it")
    pack_name = PackInput()
    price = MoneyInput()
    seen_on = DayInput(label="Seen on", initial=timezone.localdate)

    def __init__(self, *args: Any, material: Material, **options: Any) -> None:
        super().__init__(*args, **options)
        self.material = material
        self.fields["price"].label = f"Price a {price_unit(material)}"
        if material.is_goods:
            self.fields["price"].label += ", or a pack"
        else:
            del self.fields["pack_name"]
        if not material.is_sheet_goods:
            del self.fields["length"], self.fields["width"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        return with_pack(self, cleaned, self.material) if self.material.is_goods else cleaned


def price_unit(material: Material) -> str:
    """What a price of it is for: a sheet, a board foot, a pair."""
    return {"sheet": "sheet", "lumber": "board foot", "goods": material.unit}[material.kind]


class NameForm(forms.Form):
    """Another name of a material."""

    name = forms.CharField(
        label="Another name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )


class PlaceForm(ShopForm):
    """A place, what it is within, and when one passes it."""

    name = forms.CharField(
        max_length=60, help_text="As: bay B2, shelf 3.", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    within = forms.ModelChoiceField(
        Place.objects.all(), required=False, empty_label="nothing else", help_text="As a shelf in a bay."
    )
    walk_order = forms.IntegerField(
        label="Order along the walk",
        required=False,
        min_value=0,
        max_value=99_999,
        help_text="Small numbers are passed first. Empty: the last.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )

    def columns(self) -> dict[str, Any]:
        """What `change_place` takes: an order that was emptied stays as it was."""
        order = self.cleaned_data["walk_order"]
        return {**self.cleaned_data, "walk_order": self.initial["walk_order"] if order is None else order}


class SupplierForm(forms.Form):
    """Whom to call."""

    name = forms.CharField(max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    reach = forms.CharField(label="Phone or e-mail", max_length=120, required=False)
    note = forms.CharField(
        max_length=300, required=False, help_text="As: delivers on Tuesdays, account 4410."
    )


class MoveForm(forms.Form):
    """Where chosen pieces go."""

    place = OneOf(label="Move them to", nothing="choose a place")

    def __init__(self, data: Any = None, *, places: Iterable[Place]) -> None:
        super().__init__(data, auto_id="move_%s")
        self.fields["place"].offer(as_choices(places))  # type: ignore[attr-defined]
