"""The flaws of one piece, a row each."""

from typing import Any

from django.forms import BaseFormSet, formset_factory

from inventory.forms.putting_in import FlawForm
from inventory.models import Piece
from inventory.putting_in import FlawAt

SPARE_ROWS = 3
MOST_FLAWS = 40

_Rows = formset_factory(
    FlawForm,
    extra=SPARE_ROWS,
    max_num=MOST_FLAWS,
    absolute_max=MOST_FLAWS,
    can_delete=True,
    can_delete_extra=False,
)


def flaw_rows(data: Any, piece: Piece, shop: Any) -> BaseFormSet:
    """A row for each flaw that is marked, and three empty ones."""
    names = ("x", "y", "length", "width", "why")
    marked = [{name: getattr(flaw, name) for name in names} for flaw in piece.flaws.order_by("x", "y", "pk")]
    rows = _Rows(data, prefix="flaws", initial=marked, form_kwargs={"shop": shop})
    for row in rows.forms:
        if "DELETE" in row.fields:
            row.fields["DELETE"].label = "It is not there"
    return rows


def flaws_typed(rows: BaseFormSet) -> list[FlawAt]:
    """The flaws of all rows but the empty ones and those ticked away."""
    kept = [row for row in rows.forms if row not in rows.deleted_forms and row.cleaned_data.get("length")]
    return [FlawAt(**{k: v for k, v in row.cleaned_data.items() if k != "DELETE"}) for row in kept]
