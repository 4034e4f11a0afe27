"""Filters of the spend pages."""

from dataclasses import replace
from typing import Any

from django import forms
from django.db.models import Model, Value

from inventory.forms.fields import DayInput
from inventory.models import Material, Species, Supplier
from jobs.models import Charge, Client, Job
from jobs.spending import GROUPS, NONE, Asked
from shared.fields import CountInput, LongSelect
from shared.refusal import Refused

_NAMED: dict[str, type[Model]] = {
    "client": Client,
    "material": Material,
    "species": Species,
    "supplier": Supplier,
}


def _choices() -> dict[str, list[tuple[str, str]]]:
    """What can be chosen of each, by name, in one query."""
    found: dict[str, list[tuple[str, str]]] = {name: [] for name in _NAMED}
    rows = [
        model._default_manager.order_by().values_list(Value(name), "pk", "name")
        for name, model in _NAMED.items()
    ]
    for name, pk, text in rows[0].union(*rows[1:], all=True):
        found[name].append((str(pk), text))
    return {name: sorted(choices, key=lambda choice: choice[1].lower()) for name, choices in found.items()}


class SpendForm(forms.Form):
    """How spend is grouped, and which of it. What an address may ask besides ("none", a job) stays asked for."""

    group = forms.ChoiceField(
        choices=[(name, f"by {name}") for name in GROUPS], required=False, label="Grouped"
    )
    first = DayInput(
        required=False,
        label="From",
        error_messages={"invalid": "The first day is no date. Write 2026-11-30."},
    )
    last = DayInput(
        required=False, label="To", error_messages={"invalid": "The last day is no date. Write 2026-11-30."}
    )
    client = forms.ChoiceField(required=False, widget=LongSelect)
    material = forms.ChoiceField(required=False, widget=LongSelect)
    species = forms.ChoiceField(required=False, widget=LongSelect)
    supplier = forms.ChoiceField(required=False, widget=LongSelect)
    job = forms.CharField(required=False, max_length=20, label="Job’s number")
    sort = forms.ChoiceField(
        choices=[("", "all"), *Charge.Sort.choices], required=False, widget=forms.HiddenInput
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for name, choices in _choices().items():
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            none = [] if name == "material" else [(NONE, f"no {name}")]
            field.choices = [("", "all"), *choices, *none]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day comes before the first.")
        return cleaned

    def refuse_if_wrong(self) -> None:
        """For a file, which has no place to show what is wrong beside the fields."""
        if self.errors:
            raise Refused(" ".join(str(text) for texts in self.errors.values() for text in texts))

    def asked(self) -> Asked:
        """What is asked for; all of it where the form makes no sense."""
        if not self.is_valid():
            return Asked()
        given = {name: value for name, value in self.cleaned_data.items() if value}
        return replace(Asked(), **given)


class DeadForm(forms.Form):
    """For how many months nothing may have happened to a piece."""

    months = CountInput(label="Not touched for months", max_value=240, required=False)


class PricesForm(forms.Form):
    """Which material's prices."""

    material = forms.ModelChoiceField(Material.objects.all(), empty_label="choose")


class CompareForm(forms.Form):
    """Past jobs, and what the next one is: a job whose parts list is there, or none."""

    job = forms.ModelMultipleChoiceField(
        Job.objects.select_related("client"),
        to_field_name="number",
        required=False,
        widget=forms.MultipleHiddenInput,
    )
    like = forms.CharField(
        label="Numbers of past jobs",
        required=False,
        max_length=200,
        help_text="As 26-031 26-034 26-040.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    next = forms.ChoiceField(
        label="The next one",
        required=False,
        help_text="Its parts list says how large it is.",
        widget=LongSelect,
        error_messages={"invalid_choice": "There is no open job %(value)s."},
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["next"]
        assert isinstance(field, forms.ChoiceField)
        rows = Job.objects.open().values_list("number", "title")
        named = [(number, f"{number} {title}") for number, title in rows]
        field.choices = [("", "as large as they are on average"), *named]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        typed = cleaned.get("like", "").replace(",", " ").split()
        found = list(Job.objects.filter(number__in=typed).select_related("client"))
        for number in set(typed) - {job.number for job in found}:
            self.add_error("like", f"There is no job {number}.")
        chosen = list(cleaned.get("job") or [])
        cleaned["past"] = sorted({*chosen, *found}, key=lambda job: job.number)
        if wanted := cleaned.get("next", "").strip():
            cleaned["next_job"] = Job.objects.filter(number=wanted).first()
        return cleaned
