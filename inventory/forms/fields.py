"""Fields that more than one form about stock uses."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.forms import BaseFormSet

from inventory.goods_units import NotAPack, pack_size
from inventory.models import Material, Place


class QuantityInput(forms.DecimalField):
    """How many, in a material's own unit; parts of one where it may be parted."""

    widget = forms.TextInput

    def __init__(self, **options: Any) -> None:
        options.setdefault("min_value", Decimal("0.001"))
        super().__init__(max_digits=12, decimal_places=3, **options)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "class": "input-count"})

    def prepare_value(self, value: Any) -> Any:
        """4, not 4.000."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class PackInput(forms.CharField):
    """What one pack is, as on the invoice; `with_pack` says how large that is."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            required=False,
            max_length=40,
            label=options.pop("label", "A pack is"),
            help_text="As box of 50, quart, dozen. Empty: one.",
            **options,
        )
        self.widget.attrs.update({"autocomplete": "off"})


class DayInput(forms.DateField):
    """A day, by the calendar the phone or browser brings. A year no shop is in is a slip of the finger."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    default_validators = [
        MinValueValidator(date(1900, 1, 1), "The year is long past. Write one from 1900 on."),
        MaxValueValidator(date(2999, 12, 31), "The year is far ahead. Write one up to 2999."),
    ]


def with_pack(form: forms.Form, cleaned: dict[str, Any], material: Material | None) -> dict[str, Any]:
    """What a form was given, with `pack`: how many of the goods' unit its `pack_name` is."""
    cleaned["pack"] = Decimal(1)
    if material is not None and cleaned.get("pack_name"):
        try:
            cleaned["pack"] = pack_size(cleaned["pack_name"], material.unit)
        except NotAPack as error:
            form.add_error("pack_name", str(error))
    return cleaned


class OneOf(forms.ChoiceField):
    """One of some things that were loaded once, for a form with many lines; its value is that thing."""

    def __init__(self, *, nothing: str = "choose", **options: Any) -> None:
        super().__init__(**options)
        self.nothing = nothing
        self.things: Mapping[str, Any] = {}

    def offer(self, things: Mapping[str, tuple[str, Any]]) -> None:
        """What can be chosen: by its value in the page, what people read and what it stands for."""
        self.things = {value: thing for value, (_, thing) in things.items()}
        self.choices = [("", self.nothing), *((value, text) for value, (text, _) in things.items())]

    def clean(self, value: Any) -> Any:
        return self.things.get(super().clean(value))

    def has_changed(self, initial: Any, data: Any) -> bool:
        return str(initial or "") != str(data or "")


def problems_in(lines: BaseFormSet, word: str) -> list[dict[str, str]]:
    """What has to be put right in a form of many lines, and where on the page, for its error summary."""
    return [
        {"href": f"#{field.auto_id}", "text": f"{word} {number}, {field.label.lower()}: {error}"}
        for number, form in enumerate(lines, 1)
        for field in form
        for error in field.errors
    ]


def as_choices(things: Iterable[Material | Place]) -> dict[str, tuple[str, Any]]:
    """Materials or places as OneOf takes them."""
    return {str(thing.pk): (thing.name, thing) for thing in things}
