"""How labels are laid out on paper."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.labels import DPI, OFFICE_DPI, Layout
from shared.fields import CountInput
from shared.models import Shop

MOST_AT_ONCE = 2_000


class _Offset(forms.DecimalField):
    widget = forms.TextInput

    def __init__(self, **options: Any) -> None:
        super().__init__(
            max_digits=3, decimal_places=1, min_value=Decimal(-10), max_value=Decimal(10), **options
        )
        self.widget.attrs.update({"inputmode": "text", "autocomplete": "off", "class": "input-count"})


class LabelsForm(forms.Form):
    """Which paper, where on it to begin, and how far the printer is off."""

    layout = forms.ChoiceField(label="Paper")
    start = CountInput(
        label="First free label",
        min_value=1,
        max_value=500,
        help_text="On a sheet that is used in part, counted row by row.",
    )
    dpi = forms.TypedChoiceField(
        label="Dots an inch",
        coerce=int,
        choices=[(dots, f"{dots} dots an inch") for dots in reversed(DPI)],
        help_text="203 may stand there as 8 dots a mm, 300 as 12.",
    )
    offset_x_mm = _Offset(label="Move right by mm", help_text="Below zero: left.")
    offset_y_mm = _Offset(label="Move down by mm", help_text="Below zero: up.")

    def __init__(self, *args: Any, layouts: Mapping[str, Layout], **options: Any) -> None:
        super().__init__(*args, **options)
        self.layouts = layouts
        chosen = self.fields["layout"]
        assert isinstance(chosen, forms.ChoiceField)
        chosen.choices = [(key, layout.name) for key, layout in layouts.items()]

    @classmethod
    def start_from(cls, shop: Shop, remembered: dict[str, str]) -> dict[str, Any]:
        """What the form shows first: as last printed here, or as the shop is set."""
        as_set = {
            "layout": shop.label_layout,
            "start": 1,
            "dpi": OFFICE_DPI,
            "offset_x_mm": shop.label_offset_x_mm,
            "offset_y_mm": shop.label_offset_y_mm,
        }
        return {**as_set, **remembered}

    @property
    def is_moved(self) -> bool:
        """Whether the print is moved at all, so that it is seen."""
        return any(str(self[name].value()) not in ("0", "0.0") for name in ("offset_x_mm", "offset_y_mm"))

    @property
    def is_for_a_coarse_printer(self) -> bool:
        """Whether its dots are not the usual ones, so that they are seen."""
        return str(self["dpi"].value()) != str(OFFICE_DPI)

    @property
    def asked(self) -> dict[str, Any]:
        """What labels_pdf takes: the layout itself, and the dots of a label printer where one label is printed
        at a time."""
        cleaned = self.cleaned_data
        layout = self.layouts[cleaned["layout"]]
        asked = {name: cleaned[name] for name in ("start", "offset_x_mm", "offset_y_mm")}
        return {**asked, "layout": layout, "dpi": cleaned["dpi"] if layout.is_roll else OFFICE_DPI}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        layout, start = self.layouts.get(cleaned.get("layout", "")), cleaned.get("start")
        if layout and start and start > layout.count:
            raise ValidationError(
                {"start": f"This paper has {layout.count} labels. Write 1 to {layout.count}."}
            )
        return cleaned
