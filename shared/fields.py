"""Columns and form fields for what a shop types: lengths and money."""

from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.expressions import Combinable
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from shared import measure, money
from shared.chosen import number_in


class TicksField(models.BigIntegerField):
    """A length in ticks (1/40,000 mm), whole and 64 bits wide."""


class UnitField(models.CharField):
    """The unit a shop measures in: inches or millimetres."""

    if TYPE_CHECKING:
        _pyi_private_set_type: measure.Unit | Combinable
        _pyi_private_get_type: measure.Unit


class ScaledField(models.BigIntegerField):
    """A Decimal with a fixed number of places, kept as a whole number of its smallest unit.

    SQLite keeps decimals as floats and adds them up as floats; whole numbers it adds up exactly, so that sums
    and comparisons in the database are as exact as in Python.
    """

    if TYPE_CHECKING:
        _pyi_private_set_type: Decimal | int | str | Combinable  # type: ignore[assignment]
        _pyi_private_get_type: Decimal  # type: ignore[assignment]

    places = 0

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Decimal | None:
        return None if value is None else Decimal(int(value)).scaleb(-self.places)

    def to_python(self, value: Any) -> Decimal | None:
        if value is None or isinstance(value, Decimal):
            return value
        try:
            return Decimal(str(value))
        except InvalidOperation as error:
            raise ValidationError(f"“{value}” is not a number.") from error

    def get_prep_value(self, value: Any) -> int | None:
        """The whole number to keep. Raises ValueError for what would have to be rounded."""
        if hasattr(value, "resolve_expression"):
            return value  # type: ignore[no-any-return]
        number = self.to_python(value)
        if number is None:
            return None
        scaled = number.scaleb(self.places)
        if scaled != scaled.to_integral_value():
            raise ValueError(f"{value} has more than {self.places} places, nothing is rounded here")
        return int(scaled)

    def value_to_string(self, obj: Any) -> str:
        return str(self.value_from_object(obj))


class MoneyField(ScaledField):
    """An amount in the shop's currency, a Decimal to the cent."""

    places = 2


class QuantityField(ScaledField):
    """So many of something counted or measured, a Decimal to the thousandth."""

    places = 3


class LengthInput(forms.CharField):
    """A length as people type it; its value is in ticks. The form gives the shop's `unit`.

    `zero_ok` takes a nought (a trim, an offset).
    """

    unit: measure.Unit = "in"

    def __init__(self, *, zero_ok: bool = False, **options: Any) -> None:
        self.zero_ok = zero_ok
        options.setdefault("max_length", 60)
        super().__init__(**options)
        self.widget.attrs.update({"inputmode": "text", "autocomplete": "off", "class": "input-length"})

    def clean(self, value: Any) -> Any:
        """Ticks, or None where nothing was typed and nothing is needed."""
        text = super().clean(value)
        if text in (None, ""):
            return None
        try:
            return measure.parse_length(text, self.unit, zero_ok=self.zero_ok)
        except measure.NotALength as error:
            raise ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> Any:
        """Ticks so that saving them untouched changes nothing; what was typed comes back as typed."""
        return measure.typed_text(value, self.unit) if isinstance(value, int) else value


class MoneyInput(forms.CharField):
    """An amount as people type it; its value is a Decimal to the cent."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("max_length", 30)
        super().__init__(**options)
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "class": "input-money"})

    def clean(self, value: Any) -> Any:
        """A Decimal, or None where nothing was typed and nothing is needed."""
        text = super().clean(value)
        if text in (None, ""):
            return None
        try:
            return money.parse_money(text)
        except money.NotMoney as error:
            raise ValidationError(str(error)) from error


class CountInput(forms.IntegerField):
    """A whole number typed on a phone's digits."""

    widget = forms.TextInput

    def __init__(self, *, min_value: int = 1, max_value: int = 9_999, **options: Any) -> None:
        would_do = f"Write a whole number from {min_value} to {max_value}."
        wrong = dict.fromkeys(("invalid", "min_value", "max_value"), would_do)
        options["error_messages"] = {**wrong, **options.get("error_messages", {})}
        super().__init__(min_value=min_value, max_value=max_value, **options)
        self.widget.attrs.update({"inputmode": "numeric", "autocomplete": "off", "class": "input-count"})


class LongSelect(forms.Select):
    """One of hundreds of choices, written in one go: Django's own renders two templates for each."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        options = format_html_join(
            "",
            '<option value="{}"{}>{}</option>',
            (
                (one["value"], SafeString(" selected") if one["selected"] else "", one["label"])
                for _, group, _ in self.optgroups(name, self.format_value(value))
                for one in group
            ),
        )
        attrs = self.build_attrs(self.attrs, {**(attrs or {}), "name": name})
        return format_html("<select{}>{}</select>", flatatt(attrs), options)


class SeveralOf(forms.ModelMultipleChoiceField):
    """Several rows. A number that no row can have is no choice, as where one row is chosen."""

    def clean(self, value: Any) -> Any:
        for one in value or ():
            if number_in(str(one)) is None:
                raise ValidationError(self.error_messages["invalid_pk_value"], params={"pk": str(one)[:20]})
        return super().clean(value)


class _InShopUnit:
    """Gives a form's length fields the shop's unit."""

    fields: dict[str, forms.Field]

    def __init__(self, *args: Any, shop: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.shop = shop
        for field in self.fields.values():
            if isinstance(field, LengthInput):
                field.unit = shop.unit


class ShopForm(_InShopUnit, forms.Form):
    """A form whose lengths are in the shop's unit: `ShopForm(data, shop=request.shop)`."""


class ShopModelForm(_InShopUnit, forms.ModelForm):
    """The same for one row's own columns."""
