"""Forms of a shelf of goods."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.forms.fields import PackInput, QuantityInput, with_pack
from inventory.models import Material
from jobs.models import Job


class MoveForm(forms.Form):
    """So many into a job, or back; in packs where that is how they are taken."""

    material: Material | None = None
    job = forms.ModelChoiceField(
        Job.objects.open(),
        to_field_name="number",
        empty_label="choose",
        error_messages={"required": "Choose the job."},
    )
    quantity = QuantityInput(label="How many")
    pack_name = PackInput(label="Of what")

    def clean(self) -> dict[str, Any]:
        cleaned = with_pack(self, super().clean() or self.cleaned_data, self.material)
        if cleaned.get("quantity"):
            cleaned["quantity"] = (cleaned["quantity"] * cleaned["pack"]).quantize(Decimal("0.001"))
        return cleaned


class CountForm(forms.Form):
    """How many there are."""

    counted = QuantityInput(label="How many are there", min_value=Decimal(0))
