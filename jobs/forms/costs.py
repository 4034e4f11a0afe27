"""Forms of the cost and spend pages."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.models import Material
from jobs.costing import GROUPS
from jobs.models import Client


class GoodsForm(forms.Form):
    """So many of one of the shop's goods."""

    material = forms.ModelChoiceField(
        Material.objects.none(),
        label="Goods",
        empty_label="choose",
        error_messages={
            "required": "Choose which goods.",
            "invalid_choice": "These goods are not kept here.",
        },
    )
    quantity = forms.DecimalField(
        min_value=Decimal("0.001"),
        max_value=99_999,
        decimal_places=3,
        label="How many",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "input-count", "autocomplete": "off"}),
        error_messages={
            "required": "Say how many.",
            "invalid": "The quantity is no number. Write 2 or 0.5.",
            "min_value": "The quantity must be above zero.",
            "max_value": "The quantity is too large. Write at most 99999.",
            "max_decimal_places": "The quantity is too fine. Write at most three decimals.",
        },
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["material"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Material.objects.in_use().goods()


class SpendForm(forms.Form):
    """How spend is grouped, and which of it."""

    group = forms.ChoiceField(
        choices=[(name, f"by {name}") for name in GROUPS], required=False, label="Grouped", initial="job"
    )
    first = forms.DateField(
        required=False,
        label="From",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": "The first day is no date. Write 2026-11-30."},
    )
    last = forms.DateField(
        required=False,
        label="To",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": "The last day is no date. Write 2026-11-30."},
    )
    client = forms.ModelChoiceField(Client.objects.all(), required=False, label="Client", empty_label="all")
    material = forms.ModelChoiceField(
        Material.objects.all(), required=False, label="Material", empty_label="all"
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day comes before the first.")
        return cleaned
