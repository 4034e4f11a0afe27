"""What someone in front of the rack needs."""

from django import forms

from inventory.models import Material
from shared.fields import LengthInput, ShopForm


class FindForm(ShopForm):
    """A material and a size."""

    material = forms.ModelChoiceField(
        Material.objects.exclude(kind=Material.Kind.GOODS).filter(retired=False), empty_label="choose"
    )
    length = LengthInput(label="At least this long")
    width = LengthInput(label="by this wide")
    with_grain = forms.BooleanField(label="The length runs with the grain", required=False, initial=True)
