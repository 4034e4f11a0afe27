"""A plan as a page and a print show it: its figures first, then its tables, then each layout drawn."""

from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import Case, F, When
from django.utils.safestring import SafeString

from inventory.models import Piece, State
from jobs import drawings, layouts, missing, showing_solid
from jobs.cautions import Caution, Handled, SawSettings, cautions_for
from jobs.cutting import sequence
from jobs.diagrams import cuts, geometry
from jobs.missing import ToBuy, Unplaced
from jobs.models import Layout, Plan
from jobs.showing_solid import SawnNote, ShownBlank
from jobs.trees import part_of
from shared import codes
from shared.measure import format_length_with_unit, format_size, weight_kg
from shared.models import Shop
from shared.money import format_money

NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Figure:
    """One of the four figures a page begins with."""

    value: str
    note: str


@dataclass
class ShownLayout:
    """One piece's share of a plan, with all that is drawn and said of it."""

    row: Layout
    drawn: geometry.Layout
    shop: Shop
    cautions: list[Caution] = field(default_factory=list)

    @property
    def piece(self) -> Piece | None:
        return self.row.piece

    @property
    def material(self) -> Any:
        return self.row.material

    @property
    def length(self) -> int:
        return self.row.length

    @property
    def width(self) -> int:
        return self.row.width

    @property
    def price(self) -> Decimal:
        return self.row.price

    @property
    def called(self) -> str:
        """“Sheet K7M-2Q8”, or the size of a sheet to buy."""
        if self.piece:
            return f"{self.title} {codes.grouped(self.piece.code)}"
        return f"{self.material.name} {format_size(self.length, self.width, self.shop.unit)} to buy"

    @property
    def title(self) -> str:
        """What is sawn: the kind of piece; a page adds its code."""
        return self.piece.get_kind_display().capitalize() if self.piece else "To buy"

    @property
    def where(self) -> str:
        if self.piece is None:
            return "to buy"
        if self.piece.state != State.ON_RACK:
            return self.piece.get_state_display()
        return str(self.piece.place or "on the rack")

    @cached_property
    def placed(self) -> list[geometry.Placed]:
        return self.drawn.placed()

    @property
    def gives(self) -> str:
        """“2 case side, bench top”."""
        counts = Counter(self.drawn.name(one.key) for one in self.placed if one.kind == "part")
        return ", ".join(f"{count} {name}" if count > 1 else name for name, count in counts.items())

    @cached_property
    def offcuts(self) -> list[geometry.Placed]:
        """What it should leave, largest first."""
        return layouts.offcuts(self.drawn)

    @property
    def leaves(self) -> str:
        if not self.offcuts:
            return "nothing to keep"
        sizes = [format_size(one.length, one.width, self.shop.unit) for one in self.offcuts]
        return sizes[0] if len(sizes) == 1 else f"{len(sizes)} offcuts"

    @property
    def yield_pct(self) -> int:
        """Area of parts over area of the piece, in percent."""
        parts = sum(one.length * one.width for one in self.placed if one.kind == "part")
        return round(100 * parts / (self.length * self.width))

    @cached_property
    def fence_settings(self) -> int:
        return sequence.settings(cuts.steps_of(self.drawn))

    @cached_property
    def weight_kg(self) -> Decimal | None:
        """What the piece weighs before it is cut, from its size and its material's density."""
        density, thickness = self.material.density, self.material.thickness
        if not density or not thickness:
            return None
        return weight_kg(self.length, self.width, thickness, density)

    @cached_property
    def _drawing(self) -> tuple[SafeString, SafeString, Any]:
        return drawings.of_layout(self.drawn, f"layout-{self.row.pk}")

    @property
    def for_desk(self) -> SafeString:
        return self._drawing[0]

    @property
    def for_phone(self) -> SafeString:
        return self._drawing[1]

    @property
    def numbered(self) -> Any:
        return self._drawing[2]

    @cached_property
    def steps(self) -> list[SafeString]:
        return drawings.steps(self.drawn, self.shop)


@dataclass
class ShownPlan:
    """What the plan page and its print are made of."""

    figures: list[Figure]
    verdict: str
    verdict_kind: str
    layouts: list[ShownLayout]
    unplaced: list[Unplaced]
    buy_list: list[ToBuy]
    paper: str
    cautions: list[Caution]
    notes: list[str]
    sawn: list[SawnNote]
    blanks: list[ShownBlank]

    @property
    def from_rack(self) -> list[ShownLayout]:
        return [one for one in self.layouts if one.piece]


def layouts_in_rack_order(plan: Plan) -> list[Layout]:
    """A plan's layouts as one works: what is pulled, then along the rack, then what is to be bought."""
    pulled_first = Case(When(piece__state=State.PULLED, then=0), default=1)
    along_the_rack = F("piece__place__walk_order").asc(nulls_last=True)
    found = plan.layouts.select_related(
        "piece__place", "piece__material", "material__species", "offer__supplier"
    )
    return list(found.order_by(pulled_first, along_the_rack, "position"))


def layout(row: Layout, plan: Plan, shop: Shop) -> ShownLayout:
    """One layout, ready to be shown, with the cautions that bite at it."""
    shown = ShownLayout(row, layouts.read(row, plan, showing_solid.names_in(plan)), shop)
    shown.cautions = [one for one in _cautions([shown], shop) if one.layout == 0]
    return shown


def _cautions(rows: list[ShownLayout], shop: Shop) -> list[Caution]:
    saw = SawSettings(shop.least_strip, shop.longest_rip, shop.widest_crosscut)
    return cautions_for([_handled(row) for row in rows], saw, shop.unit)


def _handled(row: ShownLayout) -> Handled:
    material = row.material
    return Handled(
        name=row.called,
        layout=row.drawn,
        material=material.name,
        thickness=row.piece.actual_thickness if row.piece else material.thickness,
        density=material.density,
        is_panel=not material.is_lumber,
        core=material.core,
        formaldehyde=material.formaldehyde_class,
    )


def plan(found: Plan, shop: Shop, *, with_prices: bool) -> ShownPlan:
    """All that the plan page shows. Without `with_prices` no amount is in it."""
    parts = list(found.job.parts.with_materials())
    names = showing_solid.names_in(found)
    rows = [ShownLayout(row, layouts.read(row, found, names), shop) for row in layouts_in_rack_order(found)]
    cautions = _cautions(rows, shop)
    for number, row in enumerate(rows):
        row.cautions = [one for one in cautions if one.layout == number]
    unplaced = missing.unplaced(found, parts, shop)
    sheets = missing.sheets_to_buy((row.row for row in rows), shop)
    measured = missing.bought_by_measure(found, shop)
    buy_list = [*sheets, *measured]
    verdict, kind = _verdict(found, unplaced, buys_more=bool(measured))
    return ShownPlan(
        figures=_figures(found, rows, measured, shop, with_prices=with_prices),
        verdict=verdict,
        verdict_kind=kind,
        layouts=rows,
        unplaced=unplaced,
        buy_list=buy_list,
        paper="letter" if shop.unit == "in" else "a4",
        cautions=[one for one in cautions if one.layout is None],
        notes=_notes(rows, shop),
        sawn=[
            *showing_solid.notes_of(parts, shop),
            *showing_solid.cut_from_other_kinds(found, parts, shop),
        ],
        blanks=showing_solid.blanks_of(found, shop),
    )


def _notes(rows: list[ShownLayout], shop: Shop) -> list[str]:
    """What nobody should wonder about."""
    if not any(row.material.is_lumber for row in rows):
        return []
    longer = format_length_with_unit(shop.rough_length, shop.unit)
    wider = format_length_with_unit(shop.rough_width, shop.unit)
    return [f"Solid parts are sawn {longer} longer and {wider} wider than the list says, to be milled after."]


def _figures(
    found: Plan, rows: list[ShownLayout], measured: list[ToBuy], shop: Shop, *, with_prices: bool
) -> list[Figure]:
    """Four at most; `measured` is what is bought by the board foot or the running length."""
    offcuts = [row for row in rows if row.piece and row.piece.kind == Piece.Kind.OFFCUT]
    whole = [row for row in rows if row.piece and row.piece.kind != Piece.Kind.OFFCUT]
    bought = [row for row in rows if row.piece is None]
    from_offcuts, wanted = showing_solid.from_offcuts(
        found, (part_of(one.key) for row in offcuts for one in row.placed if one.kind == "part")
    )
    figures = [
        Figure(f"{from_offcuts} of {wanted}", f"parts from {_count(len(offcuts), 'offcut')} on the rack"),
        Figure(_pieces(whole), f"{_materials_of(whole)}already on the rack"),
        _to_buy(bought, measured),
    ]
    if with_prices:
        saved = f", offcuts saved {format_money(found.saved, shop.currency)}" if found.saved else ""
        cost = found.material_cost + sum((line.cost for line in measured), NOTHING)
        figures.append(Figure(format_money(cost, shop.currency), f"material{saved}"))
    return figures


def _to_buy(sheets: list[ShownLayout], measured: list[ToBuy]) -> Figure:
    """“1 sheet”, “to buy: ash plywood, and 15.2 board feet of maple 8/4”."""
    others = [f"{line.quantity} of {line.material}" for line in measured]
    if sheets or not measured:
        names = [_materials_of(sheets).rstrip(", ")] if sheets else []
        said = ", and ".join([*names, *others[:1]]) + (" and more" if len(others) > 1 else "")
        return Figure(_pieces(sheets), f"to buy: {said}" if said else "to buy")
    more = f", and {len(measured) - 1} more" if len(measured) > 1 else ""
    return Figure(measured[0].quantity, f"to buy: {measured[0].material}{more}")


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _pieces(rows: list[ShownLayout]) -> str:
    """“2 sheets”, “1 sheet, 3 boards”."""
    kinds = Counter("board" if row.material.is_lumber else "sheet" for row in rows)
    said = [_count(number, kind) for kind, number in sorted(kinds.items(), reverse=True)]
    return ", ".join(said) or "0 sheets"


def _materials_of(rows: list[ShownLayout]) -> str:
    names = sorted({row.material.name for row in rows})
    if not names:
        return ""
    return f"{names[0]}, " if len(names) == 1 else f"{len(names)} materials, "


def _verdict(found: Plan, unplaced: list[Unplaced], *, buys_more: bool) -> tuple[str, str]:
    if unplaced:
        return "Not every part could be placed. What would help stands below.", "careful"
    time = f"{found.seconds:.1f} s"
    if not found.bought and buys_more:
        return f"No sheet has to be bought; lumber or edging is. Planned in {time}.", ""
    if not found.bought:
        return f"Nothing has to be bought: the rack gives all of it. Planned in {time}.", "good"
    if found.is_proven:
        return f"No plan can buy fewer sheets. Checked against a proven bound in {time}.", "good"
    return f"The best found in {time}. It is not proven that no plan buys less.", ""
