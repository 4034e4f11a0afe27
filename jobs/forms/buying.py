"""What has arrived of the buy list."""

from decimal import ROUND_CEILING, Decimal
from typing import Any

from django import forms
from django.utils import timezone

from inventory.boardlist import NotBoards, read_boards
from inventory.forms.fields import DayInput, PackInput
from inventory.goods_units import NotAPack, pack_size
from inventory.models import Place, Supplier
from jobs.buying import Arrived
from jobs.models import BuyLine
from shared.fields import LengthInput, MoneyInput, ShopForm

WAYS_COUNTED = [("tally", "by hardwood tally, in whole feet"), ("exact", "exactly, by volume")]


def _how_many(line: BuyLine) -> str:
    if line.material.is_sheet_goods:
        return "Write how many sheets came: a whole number from 1 to 9999."
    return "Write how many came, above zero and at most 9999: 2 or 0.5."


def _offered(line: BuyLine) -> tuple[Decimal, str, Decimal]:
    """In which packs a line is likely to come, what they are called and cost: as they were offered."""
    if line.material.is_goods and line.offer and line.offer.pack != 1:
        return line.offer.pack, line.offer.pack_name, line.offer.price
    return Decimal(1), "", line.price


def _packs(quantity: Decimal, pack: Decimal) -> Decimal:
    """So many packs hold a quantity."""
    return quantity if pack == 1 else (quantity / pack).to_integral_value(ROUND_CEILING)


class ArrivedForm(ShopForm):
    """A receipt's head, and for each line how many came at which price, or the boards by tally."""

    supplier = forms.CharField(max_length=80, label="Supplier")
    number = forms.CharField(max_length=40, label="Invoice or delivery number")
    date = DayInput(label="Date")
    place = forms.ModelChoiceField(
        Place.objects.none(), required=False, label="Goes to", empty_label="no place yet"
    )
    freight = MoneyInput(required=False, label="Freight")
    tax = MoneyInput(required=False, label="Tax")
    discount = MoneyInput(required=False, label="Discount")

    def __init__(self, *args: Any, lines: list[BuyLine], **options: Any) -> None:
        suppliers = {line.offer.supplier.name for line in lines if line.offer}
        initial = {"date": timezone.localdate(), "supplier": suppliers.pop() if len(suppliers) == 1 else ""}
        super().__init__(*args, initial=initial, **options)
        self.lines = lines
        place = self.fields["place"]
        assert isinstance(place, forms.ModelChoiceField)
        place.queryset = Place.objects.all()
        for line in lines:
            self._add_line(line)

    def _add_line(self, line: BuyLine) -> None:
        pack, pack_name, price = _offered(line)
        label = f"Price a {line.unit}" + (", or a pack" if line.material.is_goods else "")
        self.fields[f"price_{line.pk}"] = MoneyInput(label=label, initial=f"{price}")
        if line.material.is_lumber:
            self.fields[f"boards_{line.pk}"] = forms.CharField(
                label="Boards",
                widget=forms.Textarea(attrs={"rows": 4}),
                max_length=20_000,
                help_text="A board a line, width × length: 7 1/2 x 96. Three alike: 6 x 120 x 3."
                + (" By name: a 2 × 6 is 6 wide." if line.material.is_dressed else ""),
            )
            self.fields[f"counted_{line.pk}"] = forms.ChoiceField(
                label="Board feet counted",
                choices=WAYS_COUNTED,
                initial="exact" if line.material.is_dressed else "tally",
                required=False,
            )
            return
        self.fields[f"count_{line.pk}"] = forms.DecimalField(
            label="How many came",
            min_value=Decimal("0.001"),
            max_value=9_999,
            decimal_places=0 if line.material.is_sheet_goods else 3,
            initial=f"{_packs(line.still_to_come, pack).normalize():f}",
            widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "input-count"}),
            error_messages=dict.fromkeys(
                ("invalid", "min_value", "max_value", "max_decimal_places"), _how_many(line)
            ),
        )
        if line.material.is_goods:
            self.fields[f"pack_name_{line.pk}"] = PackInput(initial=pack_name)
        if line.material.is_sheet_goods:
            for side in ("length", "width"):
                field = LengthInput(required=False, label=f"Measured {side}")
                field.unit = self.shop.unit
                self.fields[f"{side}_{line.pk}"] = field

    def line_fields(self) -> list[tuple[BuyLine, list[Any]]]:
        """Each line with its bound fields, for the page."""
        return [
            (line, [self[name] for name in self.fields if name.endswith(f"_{line.pk}")])
            for line in self.lines
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for line in self.lines:
            if line.material.is_goods:
                cleaned[f"pack_{line.pk}"] = self._pack_of(line, cleaned.get(f"pack_name_{line.pk}", ""))
            name = f"boards_{line.pk}"
            if cleaned.get(name):
                try:
                    is_dressed = line.material.is_dressed
                    cleaned[name] = read_boards(cleaned[name], self.shop.unit, are_dressed=is_dressed)
                except NotBoards as error:
                    for sentence in error.sentences:
                        self.add_error(name, sentence)
        return cleaned

    def _pack_of(self, line: BuyLine, name: str) -> Decimal:
        try:
            return pack_size(name, line.material.unit)
        except NotAPack as error:
            self.add_error(f"pack_name_{line.pk}", str(error))
            return Decimal(1)

    def asked(self) -> dict[str, Any]:
        """Arguments for `buying.receive`."""
        data = self.cleaned_data
        supplier_name = " ".join(data["supplier"].split())
        supplier = Supplier.objects.filter(name__iexact=supplier_name).first()
        return {
            "supplier": supplier or Supplier.objects.create(name=supplier_name),
            "number": data["number"],
            "date": data["date"],
            "place": data["place"],
            "freight": data["freight"] or Decimal(0),
            "tax": data["tax"] or Decimal(0),
            "discount": data["discount"] or Decimal(0),
            "arrived": [self._arrived(line) for line in self.lines],
        }

    def _arrived(self, line: BuyLine) -> Arrived:
        data = self.cleaned_data
        boards = tuple(data.get(f"boards_{line.pk}") or ())
        return Arrived(
            line=line,
            count=data.get(f"count_{line.pk}") or Decimal(len(boards)),
            price=data[f"price_{line.pk}"],
            boards=boards,
            by_tally={"tally": True, "exact": False}.get(data.get(f"counted_{line.pk}", "")),
            measured_length=data.get(f"length_{line.pk}"),
            measured_width=data.get(f"width_{line.pk}"),
            pack=data.get(f"pack_{line.pk}", Decimal(1)),
            pack_name=data.get(f"pack_name_{line.pk}", ""),
        )
