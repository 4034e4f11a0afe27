"""What an invoice is typed into: its head, and lines of sheets, boards and goods."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory import boardlist
from inventory.forms.fields import DayInput, OneOf, PackInput, QuantityInput, as_choices, with_pack
from inventory.models import Material, Offer, Piece, Place, Supplier
from inventory.receiving import BoardLine, GoodsLine, SheetLine
from shared import measure
from shared.fields import CountInput, LengthInput, MoneyInput, ShopForm
from shared.taps import LONGEST_KEY, new_key


@dataclass(frozen=True, slots=True)
class SheetChoice:
    """A material, with one of its standard sizes or none."""

    material: Material
    length: int | None = None
    width: int | None = None


class HeadForm(ShopForm):
    """What stands on top of the invoice and at its end."""

    key = forms.CharField(widget=forms.HiddenInput, max_length=LONGEST_KEY, initial=new_key)
    supplier = forms.ModelChoiceField(Supplier.objects.all(), required=False, empty_label="choose")
    new_supplier = forms.CharField(label="Or a new supplier", required=False, max_length=80)
    number = forms.CharField(label="Invoice or delivery number", max_length=40)
    date = DayInput(label="Date on it", initial=timezone.localdate)
    place = forms.ModelChoiceField(
        Place.objects.all(), label="Where it is put", required=False, empty_label="no place yet"
    )
    freight = MoneyInput(required=False)
    tax = MoneyInput(required=False)
    discount = MoneyInput(required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "supplier" in cleaned and not self.errors.get("new_supplier"):
            known, new = cleaned["supplier"], cleaned.get("new_supplier")
            if known and new:
                self.add_error("new_supplier", f"Choose {known} or name another, not both.")
            if not known and not new:
                self.add_error("supplier", "Say who it came from: choose a supplier, or name a new one.")
        return cleaned


class SheetLineForm(ShopForm):
    """Sheets of one size at one price."""

    what = OneOf(label="Material and size")
    length = LengthInput(label="Length, with the grain", required=False)
    width = LengthInput(label="Width", required=False)
    count = CountInput(label="How many", max_value=2_000)
    price = MoneyInput(label="Price each")
    measured_length = LengthInput(label="Length as measured", required=False)
    measured_width = LengthInput(label="Width as measured", required=False)
    measured_thickness = LengthInput(label="Thickness as measured", required=False)

    def __init__(self, *args: Any, choices: "LineChoices", **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["what"].offer(choices.sheets)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        chosen = cleaned.get("what")
        if chosen and chosen.length and (cleaned.get("length") or cleaned.get("width")):
            self.add_error("length", "A standard size is chosen. Leave this empty, or choose “other size”.")
        if chosen and not chosen.length:
            for name in ("length", "width"):
                if not cleaned.get(name) and name not in self.errors:
                    self.add_error(name, "A size that is not standard has to be typed: length and width.")
        return cleaned

    def line(self) -> SheetLine:
        """As the shop receives it."""
        asked, chosen = self.cleaned_data, self.cleaned_data["what"]
        return SheetLine(
            chosen.material,
            asked["count"],
            chosen.length or asked["length"],
            chosen.width or asked["width"],
            asked["price"],
            asked["measured_length"],
            asked["measured_width"],
            asked["measured_thickness"],
        )


class BoardLineForm(ShopForm):
    """Boards of one lumber, by tally, at a price a board foot."""

    material = OneOf(label="Lumber")
    boards = forms.CharField(
        label="Boards, width × length, one a line",
        help_text="As 7 1/2 x 96. Several alike: 7 1/2 x 96 x 3. Dressed softwood by name: a 2 × 6 is 6 wide.",
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 5, "autocomplete": "off", "spellcheck": "false"}),
    )
    price = MoneyInput(label="Price a board foot")
    surface = forms.ChoiceField(label="Surface", choices=Piece.Surface.choices, initial=Piece.Surface.ROUGH)
    counted = forms.ChoiceField(
        label="Board feet counted",
        initial="usual",
        choices=[
            ("usual", "as is usual: hardwood by tally, dressed softwood by volume"),
            ("tally", "by hardwood tally, in whole feet"),
            ("exact", "exactly, by volume"),
        ],
    )

    def __init__(self, *args: Any, choices: "LineChoices", **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["material"].offer(choices.lumber)  # type: ignore[attr-defined]

    def clean_boards(self) -> list[tuple[int, int]]:
        lumber = self.cleaned_data.get("material")
        is_dressed = lumber is not None and lumber.is_dressed
        try:
            return boardlist.read_boards(self.cleaned_data["boards"], self.shop.unit, are_dressed=is_dressed)
        except boardlist.NotBoards as error:
            raise ValidationError(error.sentences) from error

    def line(self) -> BoardLine:
        """As the shop receives it."""
        asked = self.cleaned_data
        by_tally = {"tally": True, "exact": False}.get(asked["counted"])
        return BoardLine(
            asked["material"], tuple(asked["boards"]), asked["price"], asked["surface"], by_tally
        )


class GoodsLineForm(ShopForm):
    """Counted goods of one sort at one price."""

    material = OneOf(label="Goods")
    quantity = QuantityInput(label="How many")
    pack_name = PackInput()
    price = MoneyInput(label="Price each, or a pack")

    def __init__(self, *args: Any, choices: "LineChoices", **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["material"].offer(choices.goods)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        return with_pack(self, cleaned, cleaned.get("material"))

    def line(self) -> GoodsLine:
        """As the shop receives it."""
        asked = self.cleaned_data
        return GoodsLine(
            asked["material"], asked["quantity"], asked["price"], asked["pack"], asked["pack_name"]
        )


class LineChoices:
    """What lines can be of, loaded once for all of them."""

    def __init__(self, unit: measure.Unit) -> None:
        kept = list(Material.objects.in_use())
        self.lumber = as_choices(one for one in kept if one.is_lumber)
        self.goods = {str(one.pk): (f"{one.name}, by the {one.unit}", one) for one in kept if one.is_goods}
        self.sheets = self._sheets([one for one in kept if one.is_sheet_goods], unit)

    def _sheets(self, materials: list[Material], unit: measure.Unit) -> dict[str, tuple[str, SheetChoice]]:
        sizes: dict[int, list[tuple[int, int]]] = {}
        offers = Offer.objects.current().filter(per=Offer.Per.SHEET).order_by("material", "length", "width")
        for pk, length, width in offers.values_list("material", "length", "width").distinct():
            if length and width:
                sizes.setdefault(pk, []).append((length, width))
        choices: dict[str, tuple[str, SheetChoice]] = {}
        for one in materials:
            for length, width in sizes.get(one.pk, []):
                text = f"{one.name}, {measure.format_size(length, width, unit)}"
                choices[f"{one.pk}:{length}:{width}"] = text, SheetChoice(one, length, width)
            choices[str(one.pk)] = f"{one.name}, other size", SheetChoice(one)
        return choices
