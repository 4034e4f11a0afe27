"""The material side of a quote: materials at cost, markup by kind, contingency, typed lines, tax.

Each amount is rounded to the cent once, where it is shown, and sums are of shown amounts: what is printed adds up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from inventory.models import Material
from jobs import estimating
from jobs.models import EstimateLine, Job, Quote, QuoteLine
from shared.models import Shop
from shared.money import cost_of

NOTHING = Decimal("0.00")
TERMS = ("markup_sheet", "markup_lumber", "markup_goods", "contingency", "tax_rate", "tax_name")


@dataclass(frozen=True, slots=True)
class Priced:
    """One material: what it costs, what is put on top, and what the client is asked for it."""

    material: Material
    cost: Decimal
    markup: Decimal

    @property
    def price(self) -> Decimal:
        return self.cost + self.markup


@dataclass(frozen=True, slots=True)
class Typed:
    """A line that was typed in, as labour."""

    what: str
    quantity: Decimal
    price: Decimal

    @property
    def amount(self) -> Decimal:
        return cost_of(self.quantity, self.price)


@dataclass(frozen=True, slots=True)
class Sheet:
    """All of a quote."""

    materials: list[Priced]
    typed: list[Typed]
    contingency_rate: Decimal
    tax_rate: Decimal
    tax_name: str

    @property
    def cost(self) -> Decimal:
        return sum((row.cost for row in self.materials), NOTHING)

    @property
    def markup(self) -> Decimal:
        return sum((row.markup for row in self.materials), NOTHING)

    @property
    def material(self) -> Decimal:
        return self.cost + self.markup

    @property
    def contingency(self) -> Decimal:
        return cost_of(self.contingency_rate, max(self.material, NOTHING))

    @property
    def others(self) -> Decimal:
        return sum((row.amount for row in self.typed), NOTHING)

    @property
    def before_tax(self) -> Decimal:
        return self.material + self.contingency + self.others

    @property
    def tax(self) -> Decimal:
        return cost_of(self.tax_rate, self.before_tax)

    @property
    def total(self) -> Decimal:
        return self.before_tax + self.tax


def terms_of(job: Job, shop: Shop) -> Quote:
    """The job's own terms; not saved and as the shop sets them where it has none."""
    kept = Quote.objects.filter(job=job).first()
    return kept or Quote(job=job, **{name: getattr(shop, name) for name in TERMS})


def sheet_of(job: Job, shop: Shop) -> Sheet:
    """The quote as it stands: on the frozen estimate, or today's where none is frozen."""
    terms = terms_of(job, shop)
    lines = list(job.estimate_lines.select_related("material"))
    if not job.estimated_at:
        lines = estimating.lines_for(job, estimating.current_plan(job), shop)
    typed = [Typed(one.what, one.quantity, one.price) for one in terms.lines.all()] if terms.pk else []
    return Sheet(_materials(lines, terms), typed, terms.contingency, terms.tax_rate, terms.tax_name)


def _materials(lines: Sequence[EstimateLine], terms: Quote) -> list[Priced]:
    costs: dict[int, Decimal] = {}
    for line in lines:
        costs[line.material_id] = costs.get(line.material_id, NOTHING) + line.amount
    known = Material.objects.in_bulk(list(costs))
    rows = [
        Priced(known[pk], cost, cost_of(getattr(terms, f"markup_{known[pk].kind}"), cost))
        for pk, cost in costs.items()
    ]
    return sorted(rows, key=lambda row: (row.material.kind != "sheet", row.material.kind, row.material.name))


@transaction.atomic
def change_terms(*, job: Job, typed: Sequence[Typed], note: str = "", **terms: Decimal | str) -> Quote:
    """Keep a job's own markups, contingency and tax, and the lines that were typed in."""
    kept, _ = Quote.objects.update_or_create(job=job, defaults={**terms, "note": note})
    kept.lines.all().delete()
    QuoteLine.objects.bulk_create(
        QuoteLine(quote=kept, what=one.what, quantity=one.quantity, price=one.price) for one in typed
    )
    return kept
