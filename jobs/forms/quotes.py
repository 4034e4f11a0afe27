"""The form of a quote: what is put on top, and lines typed in beside the material."""

from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory

from inventory.forms.fields import QuantityInput
from jobs.models import Quote
from jobs.quoting import TERMS, Typed
from shared.fields import MoneyInput
from shared.settings_forms import PercentInput


class TermsForm(forms.Form):
    """Markups, contingency and tax of one quote."""

    markup_sheet = PercentInput(label="Markup on sheet goods, %", most=900)
    markup_lumber = PercentInput(label="On lumber, %", most=900)
    markup_goods = PercentInput(label="On goods, %", most=900)
    contingency = PercentInput(label="Contingency, %", help_text="On all material.")
    tax_rate = PercentInput(label="Tax, %", places=3)
    tax_name = forms.CharField(label="What the tax is called", max_length=30)
    note = forms.CharField(
        label="A line for the client",
        max_length=300,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    @classmethod
    def of(cls, terms: Quote, data: Any = None) -> "TermsForm":
        """The form as it is kept, or as it was sent."""
        return cls(data, initial={name: getattr(terms, name) for name in (*TERMS, "note")})


class TypedForm(forms.Form):
    """Labour, delivery: what, how many, at what price each. Left empty it is no line."""

    what = forms.CharField(label="What", max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    quantity = QuantityInput(label="How many", initial=None)
    price = MoneyInput(label="At")

    def line(self) -> Typed:
        return Typed(**self.cleaned_data)


TypedLines: type[BaseFormSet] = formset_factory(TypedForm, extra=3, max_num=40, absolute_max=40)
