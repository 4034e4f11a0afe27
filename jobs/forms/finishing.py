"""How a job is finished: which finish, how thick, which sides."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.models import Material
from jobs.finishing import Coating, Surfaces
from shared.fields import CountInput
from shared.measure import Unit

UM_A_MIL = Decimal("25.4")
#: Common practice, no source: an oil-varnish or waterborne coat by brush; a can's label says what is right.
START = {"coats": 3, "solids": 35, "transfer": 90, "faces": "2", "edges": True}
FILM: dict[Unit, Decimal] = {"in": Decimal("1.0"), "mm": Decimal(25)}


def _number(**options: Any) -> forms.DecimalField:
    widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "input-count", "autocomplete": "off"})
    return forms.DecimalField(widget=widget, decimal_places=2, min_value=Decimal("0.01"), **options)


class FinishingForm(forms.Form):
    """A finish and how it goes on. The film is in mils in an inch shop and micrometres in a metric one."""

    material = forms.ModelChoiceField(
        Material.objects.none(), label="Finish", required=False, empty_label="none of the shop’s goods"
    )
    coats = CountInput(label="Coats", max_value=20)
    film = _number(label="Dry film of one coat", max_value=1000)
    solids = _number(label="Solids by volume, %", max_value=100, help_text="On the can’s data sheet.")
    transfer = _number(
        label="Transfer, %",
        max_value=100,
        help_text="What reaches the piece: brush or wipe 90 and over, spray 25 to 65.",
    )
    faces = forms.ChoiceField(label="Faces", choices=[("2", "both"), ("1", "one"), ("0", "none")])
    edges = forms.BooleanField(label="Edges too", required=False)

    def __init__(self, *args: Any, unit: Unit, **options: Any) -> None:
        options["initial"] = START | {"film": FILM[unit]} | (options.get("initial") or {})
        super().__init__(*args, **options)
        self.um = UM_A_MIL if unit == "in" else Decimal(1)
        self.fields["film"].help_text = (
            "In mils: thousandths of an inch." if unit == "in" else "In micrometres."
        )
        field = self.fields["material"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Material.objects.in_use().goods()

    def coating(self) -> Coating:
        data = self.cleaned_data
        return Coating(data["coats"], data["film"] * self.um, data["solids"] / 100, data["transfer"] / 100)

    def sides(self) -> Surfaces:
        return Surfaces(int(self.cleaned_data["faces"]), self.cleaned_data["edges"])
