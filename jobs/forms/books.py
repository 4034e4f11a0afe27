"""Forms of the books page."""

from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from inventory.forms.fields import DayInput
from inventory.models import AccountName


def last_month() -> tuple[Date, Date]:
    """The first and the last day of the month that is over."""
    last = timezone.localdate().replace(day=1) - timedelta(days=1)
    return last.replace(day=1), last


class DaysForm(forms.Form):
    """From one day to another; both may be left open."""

    first = DayInput(label="From", required=False)
    last = DayInput(label="To", required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day comes before the first.")
        return cleaned


class LinesForm(DaysForm):
    """The days of one account's lines."""

    account = forms.CharField(widget=forms.HiddenInput, max_length=12)


class CloseForm(forms.Form):
    """Up to which day the books are closed, and that one means it."""

    last_day = DayInput(label="Close all days up to and with")
    sure = forms.BooleanField(
        label="I know that this can't be taken back",
        error_messages={"required": "Tick that you know it can't be taken back."},
    )


class AccountsForm(forms.Form):
    """A name or a number for each side of a movement."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        kept = dict(AccountName.objects.values_list("sort", "name"))
        for sort, words in AccountName.SORTS:
            self.fields[sort.replace(" ", "_")] = forms.CharField(
                label=words.capitalize(), max_length=60, required=False, initial=kept.get(sort, "")
            )

    def names(self) -> dict[str, str]:
        """By the sort of account."""
        return {sort: self.cleaned_data[sort.replace(" ", "_")] for sort, _ in AccountName.SORTS}
