"""A plan on paper for the saw."""

from jobs.diagrams import pdf
from jobs.models import Plan
from jobs.showing import ShownLayout, ShownPlan, ToBuy
from jobs.showing import plan as shown_plan
from jobs.showing_solid import RINGS
from shared import codes
from shared.measure import format_size, format_weight
from shared.models import Shop
from shared.money import format_money


def plan_pdf(plan: Plan, shop: Shop, *, page: pdf.Page, with_prices: bool) -> bytes:
    """The plan as PDF on Letter or A4. Without `with_prices` no amount is on it."""
    shown = shown_plan(plan, shop, with_prices=with_prices)
    return pdf.plan_pdf(
        [
            *(_sheet(row, shop, with_prices=with_prices) for row in shown.layouts),
            *(pdf.SheetPage(f"Blank {one.name}", one.facts, one.drawn) for one in shown.blanks),
        ],
        title=f"{plan.job.number} {plan.job.title}: cutting plan",
        lines=[shown.verdict, *shown.notes, *_sawn_notes(shown)],
        figures=[pdf.Figure(figure.value, figure.note) for figure in shown.figures],
        buy_list=[_to_buy(line, shop, with_prices=with_prices) for line in shown.buy_list],
        unplaced=[pdf.UnplacedRow(one.count, f"{one.name}, {one.size}", one.why) for one in shown.unplaced],
        cautions=_all_cautions(shown),
        page=page,
    )


def _sawn_notes(shown: ShownPlan) -> list[str]:
    """Why parts are sawn to other sizes, and how blanks are glued up."""
    names = dict.fromkeys(one.name for one in shown.blanks if len(one.staves) > 1)
    glued = [f"Glued up: {', '.join(names)}. {RINGS}"] if names else []
    edged = [f"{note.name}: {note.text}." for note in shown.sawn if "edging" in note.text or note.is_fault]
    return [*edged, *glued]


def _all_cautions(shown: ShownPlan) -> list[pdf.Caution]:
    return [*(one for row in shown.layouts for one in row.cautions), *shown.cautions]


def _sheet(row: ShownLayout, shop: Shop, *, with_prices: bool) -> pdf.SheetPage:
    facts = [row.material.name, row.where, f"yield {row.yield_pct} %", f"{row.fence_settings} fence settings"]
    if row.weight_kg:
        facts.append(format_weight(row.weight_kg, shop.unit))
    return pdf.SheetPage(row.called, facts, row.drawn, rack=_rack(row, shop, with_prices=with_prices))


def _rack(row: ShownLayout, shop: Shop, *, with_prices: bool) -> pdf.RackRow | None:
    if row.piece is None:
        return None
    return pdf.RackRow(
        piece=codes.grouped(row.piece.code),
        what=f"{row.piece.get_kind_display()}, {row.material.name}",
        where=row.where,
        size=format_size(row.length, row.width, shop.unit),
        gives=row.gives,
        leaves=row.leaves,
        value=format_money(row.price, shop.currency) if with_prices else "",
    )


def _to_buy(line: ToBuy, shop: Shop, *, with_prices: bool) -> pdf.BuyRow:
    cost = format_money(line.cost, shop.currency) if with_prices else ""
    asked = line.note.partition("; ")[2] or line.size  # the least boards, where lumber is bought
    return pdf.BuyRow(line.quantity, line.material, asked, cost)
