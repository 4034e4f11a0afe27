"""Forms of a job's cost page."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.models import Material


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
