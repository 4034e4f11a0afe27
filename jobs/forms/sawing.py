"""Forms for what a cut took and what it left."""

from dataclasses import replace
from typing import Any

from django import forms

from inventory.models import Piece
from inventory.sawing import LeftOver, rectangles_of_l
from jobs.diagrams.geometry import Placed
from jobs.models import Job
from shared.fields import CountInput, LengthInput, ShopForm
from shared.refusal import Refused

ROWS_TAKEN, ROWS_LEFT = 3, 4
CORNERS = [
    ("", "not said"),
    ("left-top", "left, top"),
    ("left-bottom", "left, bottom"),
    ("right-top", "right, top"),
    ("right-bottom", "right, bottom"),
]
L_SIZES = {
    "l_length": "The whole, length",
    "l_width": "The whole, width",
    "l_gone_length": "The corner that is gone, length",
    "l_gone_width": "The corner that is gone, width",
}


class LeftForm(ShopForm):
    """What is left of a piece: rows of length and width. A row without either is no offcut."""

    note = forms.CharField(max_length=200, required=False, label="Note")

    def __init__(
        self, *args: Any, planned: list[Placed] | None = None, rows: int = ROWS_LEFT, **options: Any
    ) -> None:
        initial = options.pop("initial", None) or {}
        planned = planned or []
        self.rows_left = max(rows, len(planned) + 1)
        for number, offcut in enumerate(planned):
            initial |= {f"left_length_{number}": offcut.length, f"left_width_{number}": offcut.width}
        super().__init__(*args, initial=initial, **options)
        for number in range(self.rows_left):
            for name in ("length", "width"):
                field = LengthInput(required=False, label=f"Offcut {number + 1}, {name}")
                field.unit = self.shop.unit
                self.fields[f"left_{name}_{number}"] = field

    asks_corners = False

    def left_rows(self) -> list[tuple[Any, Any, Any]]:
        """Bound fields for the page: length, width, and the corner it was cut from or None."""
        return [
            (
                self[f"left_length_{n}"],
                self[f"left_width_{n}"],
                self[f"left_corner_{n}"] if self.asks_corners else None,
            )
            for n in range(self.rows_left)
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for number in range(self.rows_left):
            self._need_both(f"left_length_{number}", f"left_width_{number}", f"Offcut {number + 1}")
        return cleaned

    def _need_both(self, first: str, second: str, what: str) -> None:
        one, other = self.cleaned_data.get(first), self.cleaned_data.get(second)
        missing = first if other and not one else second if one and not other else None
        if missing and missing not in self.errors:
            self.add_error(missing, f"{what} needs both its length and its width.")

    def left(self) -> list[LeftOver]:
        """What is left, in ticks."""
        pairs = [
            (self.cleaned_data.get(f"left_length_{n}"), self.cleaned_data.get(f"left_width_{n}"))
            for n in range(self.rows_left)
        ]
        return [LeftOver(length, width) for length, width in pairs if length and width]


class FreeCutForm(LeftForm):
    """A cut that is from no plan: what was taken, what is left, for which job or none."""

    job = forms.ModelChoiceField(
        Job.objects.none(),
        required=False,
        to_field_name="number",
        empty_label="no job: written off",
        label="For",
    )

    def __init__(self, *args: Any, piece: Piece, **options: Any) -> None:
        holder = piece.holder
        if holder:
            options["initial"] = {"job": holder.number, **(options.get("initial") or {})}
        super().__init__(*args, **options)
        self.piece = piece
        self.asks_corners = piece.flaws.exists()
        for number in range(self.rows_left if self.asks_corners else 0):
            self.fields[f"left_corner_{number}"] = forms.ChoiceField(
                required=False, choices=CORNERS, label=f"Corner of offcut {number + 1}"
            )
        jobs = Job.objects.filter(pk=holder.pk) if holder else Job.objects.open()
        job_field = self.fields["job"]
        assert isinstance(job_field, forms.ModelChoiceField)
        job_field.queryset = jobs
        for name, label in L_SIZES.items():
            field = LengthInput(required=False, label=label)
            field.unit = self.shop.unit
            self.fields[name] = field
        for number in range(ROWS_TAKEN):
            self.fields[f"count_{number}"] = CountInput(required=False, label=f"Taken {number + 1}, how many")
            for name in ("length", "width"):
                field = LengthInput(required=False, label=f"Taken {number + 1}, {name}")
                field.unit = self.shop.unit
                self.fields[f"taken_{name}_{number}"] = field

    @property
    def has_l(self) -> bool:
        """Whether one was filled in, so that what was typed is seen."""
        return any(self[name].value() for name in L_SIZES)

    def l_fields(self) -> list[Any]:
        """Bound fields for an L that is left."""
        return [self[name] for name in L_SIZES]

    def taken_rows(self) -> list[tuple[Any, Any, Any]]:
        """Bound fields, three a row, for the page."""
        return [
            (self[f"count_{n}"], self[f"taken_length_{n}"], self[f"taken_width_{n}"])
            for n in range(ROWS_TAKEN)
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for number in range(ROWS_TAKEN):
            length, width = f"taken_length_{number}", f"taken_width_{number}"
            self._need_both(length, width, f"What was taken ({number + 1})")
            if cleaned.get(f"count_{number}") and not (self[length].data or self[width].data):
                self.add_error(length, f"What was taken ({number + 1}) needs both its length and its width.")
        self._clean_l()
        return cleaned

    def _clean_l(self) -> None:
        """All four sizes of an L or none, and a corner smaller than the whole."""
        sizes = [self.cleaned_data.get(name) for name in L_SIZES]
        if not any(sizes) or any(name in self.errors for name in L_SIZES):
            return
        if not all(sizes):
            missing = next(name for name in L_SIZES if not self.cleaned_data.get(name))
            self.add_error(missing, "An L needs all four sizes.")
            return
        try:
            self._rectangles_of_l()
        except Refused as refusal:
            self.add_error("l_gone_length", str(refusal))

    def _rectangles_of_l(self) -> list[LeftOver]:
        length, width, gone_length, gone_width = (self.cleaned_data.get(name) for name in L_SIZES)
        if not (length and width and gone_length and gone_width):
            return []
        gone = {"gone_length": gone_length, "gone_width": gone_width}
        return rectangles_of_l(length=length, width=width, **gone, kerf=self.shop.kerf)

    def left(self) -> list[LeftOver]:
        """What is left, in ticks; on a flawed piece with where it began, if its corner was said."""
        corners = [
            self.cleaned_data.get(f"left_corner_{n}", "")
            for n in range(self.rows_left)
            if self.cleaned_data.get(f"left_length_{n}") and self.cleaned_data.get(f"left_width_{n}")
        ]
        return [self._at(one, corner) for one, corner in zip(super().left(), corners, strict=True)]

    def _at(self, left: LeftOver, corner: str) -> LeftOver:
        if not corner:
            return left
        x = self.piece.length - left.length if corner.startswith("right") else 0
        y = self.piece.width - left.width if corner.endswith("bottom") else 0
        return replace(left, began=(x, y))

    def asked(self) -> dict[str, Any]:
        """Arguments for `making.cut_free`. A size without a count is one of it."""
        data = self.cleaned_data
        taken = [
            (data.get(f"count_{n}") or 1, data[f"taken_length_{n}"], data[f"taken_width_{n}"])
            for n in range(ROWS_TAKEN)
            if data.get(f"taken_length_{n}") and data.get(f"taken_width_{n}")
        ]
        return {
            "taken": taken,
            "left": [*self.left(), *self._rectangles_of_l()],
            "job": data.get("job"),
            "note": data.get("note", ""),
        }
