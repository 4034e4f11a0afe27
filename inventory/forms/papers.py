"""A label paper that the shop measures itself."""

from typing import Any

from inventory.models import LabelPaper
from shared.fields import CountInput, LengthInput, ShopModelForm


class PaperForm(ShopModelForm):
    """Lengths in the shop's unit; on a roll there is one label, as large as the paper."""

    paper_width = LengthInput(label="Paper, width")
    paper_height = LengthInput(label="Paper, height")
    label_width = LengthInput(label="One label, width")
    label_height = LengthInput(label="One label, height")
    columns = CountInput(label="Labels side by side", min_value=1, max_value=50, initial=1)
    rows = CountInput(label="Labels one below the other", min_value=1, max_value=100, initial=1)
    left_margin = LengthInput(label="Left of the first label", zero_ok=True, initial=0)
    top_margin = LengthInput(label="Above the first label", zero_ok=True, initial=0)
    pitch_x = LengthInput(
        label="From one label's left edge to the next",
        required=False,
        help_text="Empty: they touch.",
    )
    pitch_y = LengthInput(
        label="From one label's top edge to the next", required=False, help_text="Empty: they touch."
    )

    class Meta:
        model = LabelPaper
        fields = [
            "name",
            "paper_width",
            "paper_height",
            "label_width",
            "label_height",
            "columns",
            "rows",
            "left_margin",
            "top_margin",
            "pitch_x",
            "pitch_y",
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for pitch, size in (("pitch_x", "label_width"), ("pitch_y", "label_height")):
            cleaned[pitch] = cleaned.get(pitch) or cleaned.get(size)
        return cleaned
