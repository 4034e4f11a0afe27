"""A delivery as it is typed from its invoice: the head, then sheets, boards and goods, a line each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.forms import BaseFormSet, formset_factory
from django.http import QueryDict

from inventory.cataloguing import supplier_called
from inventory.forms.catalogue import price_unit
from inventory.forms.fields import problems_in
from inventory.forms.receiving import BoardLineForm, GoodsLineForm, HeadForm, LineChoices, SheetLineForm
from inventory.ledger import NOTHING
from inventory.models import Supplier
from inventory.receiving import BoardLine, GoodsLine, Line, SheetLine, cost_of_lines, refuse_second_entry
from shared.fields import ShopForm
from shared.money import CENT

MORE_LINES = 3
MOST_LINES = 60


class _Lines(BaseFormSet):
    """Lines of which every one may be left empty. Unbound it holds what was typed so far, or three."""

    def initial_form_count(self) -> int:
        return 0

    def total_form_count(self) -> int:
        return super().total_form_count() if self.is_bound else min(len(self.initial or ()), MOST_LINES)

    @property
    def is_open(self) -> bool:
        """Whether there is something to see in these lines; sheets, the most common, always are."""
        return self.prefix == "sheets" or any(
            form.has_changed() if self.is_bound else form.initial for form in self
        )


def _lines_of(form: type[ShopForm]) -> type[BaseFormSet]:
    return formset_factory(form, formset=_Lines, max_num=MOST_LINES, absolute_max=MOST_LINES)


SORTS: dict[str, type[BaseFormSet]] = {
    "sheets": _lines_of(SheetLineForm),
    "boards": _lines_of(BoardLineForm),
    "goods": _lines_of(GoodsLineForm),
}
FIRST_LINES = {"sheets": 3, "boards": 1, "goods": 3}


class Delivery:
    """The whole page: bound to what was sent, or unbound and filled with what was typed so far.

    `more` names the sort of lines of which a few more are wanted.
    """

    def __init__(
        self, *, shop: Any, sent: QueryDict | None = None, typed: QueryDict | None = None, more: str = ""
    ) -> None:
        options = {"shop": shop, "choices": LineChoices(shop.unit)}
        self.head = HeadForm(sent, shop=shop, initial=_typed_head(typed) if typed is not None else None)
        self.lines_of = {
            sort: formset(
                sent,
                prefix=sort,
                initial=_typed_lines(typed, sort, more=MORE_LINES if more == sort else 0),
                form_kwargs=options,
            )
            for sort, formset in SORTS.items()
        }

    @cached_property
    def is_valid(self) -> bool:
        """Whether all of it can be read and there is at least one line."""
        readable = [self.head.is_valid(), *(lines.is_valid() for lines in self.lines_of.values())]
        if all(readable) and not self.lines:
            self.head.add_error(None, "Nothing is received yet. Give at least one line with a count.")
        return all(readable) and bool(self.lines)

    @cached_property
    def lines(self) -> list[Line]:
        """Every line that is not empty, as the shop receives it."""
        forms = (form for lines in self.lines_of.values() for form in lines)
        return [form.line() for form in forms if form.has_changed()]

    def asked(self) -> dict[str, Any]:
        """What `receive` takes. A supplier named for the first time is added."""
        head = dict(self.head.cleaned_data)
        new = head.pop("new_supplier")
        head["supplier"] = head["supplier"] or supplier_called(new)
        return {**head, **self._spread(), "lines": self.lines}

    def _spread(self) -> dict[str, Any]:
        return {name: self.head.cleaned_data[name] or NOTHING for name in ("freight", "tax", "discount")}

    def checked(self) -> "Checked":
        """What this will cost, line by line. Refused as `receive` would refuse it."""
        head = self.head.cleaned_data
        known = head["supplier"] or Supplier.objects.filter(name__iexact=head["new_supplier"]).first()
        if known:
            refuse_second_entry(known, head["number"])
        costs = cost_of_lines(self.lines, **self._spread())
        lines = [CheckedLine(line, cost) for line, cost in zip(self.lines, costs, strict=True)]
        return Checked(lines=lines, supplier_is_new=known is None, **self._spread())

    @property
    def problems(self) -> list[dict[str, str]]:
        """What has to be put right, line by line, with where it is on the page."""
        sorts = self.lines_of.items()
        return [one for sort, lines in sorts for one in problems_in(lines, f"{sort.capitalize()}, line")]

    @property
    def hidden(self) -> Iterator[Any]:
        """Every field as a hidden one, so that what was checked is what is entered."""
        for field in self.head:
            yield field.as_hidden()
        for lines in self.lines_of.values():
            yield lines.management_form
            for form in lines:
                for field in form:
                    yield field.as_hidden()


@dataclass(frozen=True, slots=True)
class CheckedLine:
    """A line, and what it costs once freight, tax and discount are spread."""

    line: Line
    cost: Decimal

    @property
    def each(self) -> Decimal:
        """What one sheet, one board foot or one of the goods comes to, to the cent."""
        # A board shorter than a foot is tallied as nothing.
        return (self.cost / self.units).quantize(CENT) if self.units else self.cost

    @property
    def units(self) -> Decimal:
        """How many a price is for: sheets, board feet, goods."""
        if isinstance(self.line, BoardLine):
            feet = self.line.board_feet
            return Decimal(feet.numerator) / Decimal(feet.denominator)
        return Decimal(self.line.count)

    @property
    def unit(self) -> str:
        """What a price is for."""
        return price_unit(self.line.material)

    @property
    def wider_than_long(self) -> int:
        """Boards whose figures may have been swapped: hardly any is wider than long."""
        boards = self.line.boards if isinstance(self.line, BoardLine) else ()
        return sum(1 for width, length in boards if width > length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A delivery as it will be entered."""

    lines: list[CheckedLine]
    supplier_is_new: bool
    freight: Decimal
    tax: Decimal
    discount: Decimal

    @property
    def amount(self) -> Decimal:
        """What the lines come to before the spread."""
        return sum((one.line.amount for one in self.lines), NOTHING)

    @property
    def total(self) -> Decimal:
        return sum((one.cost for one in self.lines), NOTHING)


def counted(lines: Sequence[Line]) -> str:
    """What comes in, in words: "3 sheets and 12 boards"."""
    sheets = sum(line.count for line in lines if isinstance(line, SheetLine))
    boards = sum(line.count for line in lines if isinstance(line, BoardLine))
    goods = sum(isinstance(line, GoodsLine) for line in lines)
    words = [_plural(sheets, "sheet"), _plural(boards, "board"), _plural(goods, "lot", " of goods")]
    return " and ".join(word for word in words if word)


def _plural(count: int, word: str, rest: str = "") -> str:
    return f"{count:,} {word}{'' if count == 1 else 's'}{rest}" if count else ""


def _typed_head(typed: QueryDict) -> dict[str, str]:
    return {name: str(typed[name]) for name in HeadForm.base_fields if name in typed}


def _typed_lines(typed: QueryDict | None, sort: str, more: int) -> list[Mapping[str, str]]:
    """What each line of this sort held; a link from elsewhere may fill them by the fields' own names."""
    typed = typed if typed is not None else QueryDict()
    fields = SORTS[sort].form.base_fields
    rows: list[Mapping[str, str]] = []
    for number in range(MOST_LINES):
        held = {name: typed.get(f"{sort}-{number}-{name}") for name in fields}
        if all(text is None for text in held.values()):
            break
        rows.append({name: text for name, text in held.items() if text and text != fields[name].initial})
    return rows + [{}] * (max(FIRST_LINES[sort] - len(rows), 0) + more)
