"""Forms for jobs and their parts."""

from typing import Any

from django import forms

from inventory.models import Material
from jobs import edging, facing
from jobs.models import Job, Part
from jobs.partslist.saving import PartLine
from shared.fields import CountInput, LengthInput, SeveralOf, ShopForm


class JobForm(forms.Form):
    """A new commission, or a change of one."""

    title = forms.CharField(
        max_length=100, label="What it is", help_text="Wash stand, window bench, toy chest"
    )
    client_name = forms.CharField(max_length=80, required=False, label="For whom")
    number = forms.CharField(
        max_length=20, required=False, label="Number", help_text="Left empty, it is given the next one."
    )
    due = forms.DateField(
        required=False, label="Due", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    note = forms.CharField(
        required=False, label="Note", widget=forms.Textarea(attrs={"rows": 3}), max_length=2000
    )

    def clean_number(self) -> str:
        number = str(self.cleaned_data["number"]).strip()
        if "/" in number or number.lower() in ("new", ".", ".."):  # these are addresses of other pages
            raise forms.ValidationError("A number can't hold a stroke, nor be “new”. Write 26-041.")
        return number


class JobEditForm(JobForm):
    """A job's own data, its state among them."""

    state = forms.ChoiceField(choices=Job.State.choices, label="State")


class PartForm(ShopForm):
    """One part of a list, typed or edited in place."""

    quantity = CountInput(label="Quantity")
    name = forms.CharField(max_length=80, label="Part")
    length = LengthInput(label="Length, with the grain")
    width = LengthInput(label="Width")
    material = forms.ModelChoiceField(Material.objects.none(), label="Material", empty_label="choose")
    grain = forms.ChoiceField(choices=Part.Grain.choices, label="Grain", initial=Part.Grain.LENGTH)
    also = SeveralOf(
        Material.objects.none(),
        required=False,
        label="Would also do",
        help_text="For a hidden part: other materials it may be cut from.",
        widget=forms.CheckboxSelectMultiple,
    )
    edging = forms.CharField(
        max_length=60,
        required=False,
        label="Edging",
        help_text="front, all, 2 long 1 short, L1 W1; “added” where the size is without it.",
    )
    strip_material = forms.ModelChoiceField(
        Material.objects.none(),
        required=False,
        label="Edged with",
        empty_label="as the edging says, else the panel’s species",
    )
    match_set = forms.CharField(
        max_length=40, required=False, label="Match set", help_text="Parts of one name stay side by side."
    )
    thickness = LengthInput(
        label="Finished thickness", required=False, help_text="Of solid wood, to check its quarter."
    )
    may_be_glued = forms.BooleanField(
        required=False, label="May be glued up from staves where no board is wide enough"
    )
    note = forms.CharField(max_length=200, required=False, label="Note")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        choices = Material.objects.in_use().exclude(kind=Material.Kind.GOODS)
        for name in ("material", "also"):
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = choices
        strips = self.fields["strip_material"]
        assert isinstance(strips, forms.ModelChoiceField)
        strips.queryset = Material.objects.filter(pk__in=[one.pk for one in facing.strip_materials()])

    def clean(self) -> dict[str, Any]:
        """Edging that is not understood is asked about while it is in front of someone."""
        cleaned = super().clean() or self.cleaned_data
        try:
            edging.parse_edging(cleaned.get("edging", ""), self.shop.unit)
        except edging.NotEdging as error:
            self.add_error("edging", str(error))
        return cleaned

    def line(self) -> PartLine:
        """What was typed, as a line to save."""
        data = self.cleaned_data
        return PartLine(**{**data, "also": tuple(data["also"])})


class MoistureForm(forms.Form):
    """Two moisture contents that wood goes between."""

    dry = forms.DecimalField(label="Driest, %", min_value=6, max_value=14, decimal_places=1, localize=True)
    damp = forms.DecimalField(label="Dampest, %", min_value=6, max_value=14, decimal_places=1, localize=True)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for field in self.fields.values():
            field.widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "input-count"})
