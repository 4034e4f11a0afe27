"""A piece that was in the shop before its label."""

from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory

from inventory.forms.fields import OneOf, QuantityInput, as_choices
from inventory.models import Material, Piece, Place
from inventory.putting_in import FlawAt
from shared.access import may_see_prices
from shared.fields import LengthInput, MoneyInput, ShopForm
from shared.models import Person
from shared.taps import LONGEST_KEY, new_key

MOST_FLAWS = 3


class PutInForm(ShopForm):
    """What it is, how large, where it is put; its value only for who sees prices."""

    key = forms.CharField(widget=forms.HiddenInput, max_length=LONGEST_KEY, initial=new_key)
    material = OneOf(label="What it is of")
    kind = forms.ChoiceField(
        label="It is",
        widget=forms.RadioSelect,
        initial=Piece.Kind.OFFCUT,
        choices=[("offcut", "an offcut"), ("sheet", "a whole sheet"), ("board", "a board")],
    )
    length = LengthInput(label="Length, with the grain")
    width = LengthInput(label="Width, across it")
    thickness = LengthInput(
        label="Thickness as measured", required=False, help_text="Where it is not its material’s."
    )
    place = OneOf(label="Where it is put", required=False, nothing="no place yet")
    value = MoneyInput(label="What it is worth", required=False, help_text="Nothing, where nobody knows.")
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=200,
        help_text="Printed on its label.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, person: Person, **options: Any) -> None:
        super().__init__(*args, **options)
        kept = Material.objects.in_use().exclude(kind=Material.Kind.GOODS)
        self.fields["material"].offer(as_choices(kept))  # type: ignore[attr-defined]
        self.fields["place"].offer(as_choices(Place.objects.all()))  # type: ignore[attr-defined]
        if not may_see_prices(person):
            del self.fields["value"]

    def asked(self) -> dict[str, Any]:
        """What `put_in` takes: a value that was not typed, or may not be, is nothing."""
        asked = dict(self.cleaned_data)
        asked["value"] = asked.get("value") or 0
        return asked


class FlawForm(ShopForm):
    """A rectangle that no part may lie over, measured from the corner where length and width begin."""

    x = LengthInput(label="From the end", zero_ok=True)
    y = LengthInput(label="From the edge", zero_ok=True)
    length = LengthInput(label="Length")
    width = LengthInput(label="Width")
    why = forms.CharField(label="What it is", required=False, max_length=60)

    def flaw(self) -> FlawAt:
        """As the shop keeps it."""
        return FlawAt(**self.cleaned_data)


_Flaws = formset_factory(FlawForm, extra=MOST_FLAWS, max_num=MOST_FLAWS, absolute_max=MOST_FLAWS)


def flaw_forms(data: Any, shop: Any) -> BaseFormSet:
    """Three rows for flaws, each of which may stay empty."""
    return _Flaws(data, prefix="flaws", form_kwargs={"shop": shop})


def flaws_in(forms_: BaseFormSet) -> list[FlawAt]:
    """The flaws of all rows that are not empty."""
    return [form.flaw() for form in forms_ if form.has_changed()]


class GoodsPutInForm(ShopForm):
    """Goods that were on the shelf before they were counted."""

    key = forms.CharField(widget=forms.HiddenInput, max_length=LONGEST_KEY, initial=new_key)
    quantity = QuantityInput(label="How many are there")
    value = MoneyInput(label="What they are worth together", required=False)
