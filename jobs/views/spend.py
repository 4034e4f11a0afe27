"""What material cost: spent, saved, on the rack, by price; and what the next piece should cost."""

from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Sum
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.models import Material
from jobs import charts, comparing, prices, rack_worth, spending, tables
from jobs.forms.books import DaysForm
from jobs.forms.spend import CompareForm, DeadForm, PricesForm, SpendForm
from jobs.models import Job
from jobs.spending import NOTHING
from jobs.views.exports import as_file
from shared.access import ShopRequest, buyers_only
from shared.models import Shop
from shared.money import format_money
from shared.paging import CappedPaginator, KeyedPaginator

ROWS = 50
PAST_LISTED = 20  # of the jobs that are done, to choose from
MONTHS_DEAD = 12


@buyers_only
@require_safe
def spend(request: ShopRequest) -> HttpResponse:
    """Spent by job, client, month, material, species or supplier; the total is the ledger's."""
    form = SpendForm(request.GET or {"group": "job"})
    asked = form.asked()
    found = spending.spend(asked)
    by_month = found if asked.group == "month" else spending.spend(spending.by_month(asked))
    first = timezone.localdate().replace(day=1)
    days = (asked.first, asked.last) if asked.first or asked.last else (first, None)
    context = {
        "form": form,
        "asked": asked,
        "spend": found,
        "ledger": spending.ledger_total(asked),
        "page": Paginator(found.rows, ROWS).get_page(request.GET.get("page")),
        "chart": _month_bars(by_month, request.shop),
        "saved": spending.saved(*days).total,
        "saved_in": "in these days" if asked.first or asked.last else "this month",
        "on_rack": rack_worth.carried(),
    }
    return render(request, "jobs/spend.html", context, status=422 if form.errors else 200)


def _month_bars(found: spending.Spend, shop: Shop) -> list[Any]:
    """The months as bars, for the desk and the phone; a month without spend stands between its neighbours."""
    months = {(row.label.year, row.label.month): row for row in reversed(found.rows)}
    if not months:
        return []
    year, month = min(months)
    rows = []
    while (year, month) <= max(months):
        row = months.get((year, month))
        amount = row.amount if row else NOTHING
        figure = format_money(amount, shop.currency).partition(".")[0] if row else ""
        href = f"{reverse('spend-movements')}?{row.query}" if row else ""
        rows.append(charts.Bar(f"{date(year, month, 1):%b} {year % 100:02}", amount, figure, href))
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    return [charts.bars(rows, charts.DESK), charts.bars(rows, charts.PHONE)]


@buyers_only
@require_safe
def spend_export(request: ShopRequest, kind: str) -> HttpResponse:
    """The spend page's table as CSV or XLSX."""
    form = SpendForm(request.GET or {"group": "job"})
    form.refuse_if_wrong()
    asked = form.asked()
    return as_file(spending.as_table(spending.spend(asked), asked.group), f"spend-by-{asked.group}", kind)


@buyers_only
@require_safe
def movements(request: ShopRequest) -> HttpResponse:
    """The movements behind a figure, and what they add up to."""
    form = SpendForm(request.GET)
    asked = form.asked()
    charges = spending.behind(asked)
    context = {
        "form": form,
        "asked": asked,
        "page": KeyedPaginator(charges, ROWS).get_page(request.GET.get("page")),
        "total": spending.total_of(asked),
    }
    return render(request, "jobs/spend_movements.html", context, status=422 if form.errors else 200)


@buyers_only
@require_safe
def movements_export(request: ShopRequest, kind: str) -> HttpResponse:
    form = SpendForm(request.GET)
    form.refuse_if_wrong()
    return as_file(spending.behind_as_table(spending.behind(form.asked())), "charges", kind)


@buyers_only
@require_safe
def saved(request: ShopRequest) -> HttpResponse:
    """What offcuts saved in some days, and the cuts that did."""
    form, first, last = _days(request)
    found = spending.saved(first, last)
    cuts = spending.cuts_of_offcuts(first, last).select_related("piece__material", "by").order_by("-pk")
    page = Paginator(cuts, ROWS).get_page(request.GET.get("page"))
    context = {"form": form, "found": found, "page": page}
    return render(request, "jobs/spend_saved.html", context, status=422 if form.errors else 200)


@buyers_only
@require_safe
def saved_export(request: ShopRequest, kind: str) -> HttpResponse:
    """What offcuts saved by material, or the cuts behind it."""
    _, first, last = _days(request)
    if request.GET.get("table") == "cuts":
        cuts = spending.cuts_of_offcuts(first, last).select_related("piece__material", "by").order_by("-pk")
        return as_file(spending.cuts_as_table(cuts, request.shop), "cuts-of-offcuts", kind)
    table = spending.saved_as_table(spending.saved(first, last), request.shop)
    return as_file(table, "saved-by-offcuts", kind)


def _days(request: ShopRequest) -> tuple[Any, Any, Any]:
    """The days asked for; this month's where none are."""
    asked = {name: request.GET[name] for name in ("first", "last") if name in request.GET}
    form = DaysForm(asked or {"first": timezone.localdate().replace(day=1)})
    given = form.cleaned_data if form.is_valid() else {}
    return form, given.get("first"), given.get("last")


@buyers_only
@require_safe
def rack(request: ShopRequest) -> HttpResponse:
    """What is on the rack by age and value, and what nobody has touched for long."""
    form, months, day = _dead_since(request)
    context = {
        "form": form,
        "months": months,
        "rack": rack_worth.by_age(),
        "page": CappedPaginator(rack_worth.untouched_since(day), ROWS).get_page(request.GET.get("page")),
        "goods": rack_worth.goods_untouched_since(day),
    }
    return render(request, "jobs/spend_rack.html", context, status=422 if form.errors else 200)


def _dead_since(request: ShopRequest) -> tuple[DeadForm, int, date]:
    """The form, and for how many months and since which day nothing may have happened to a piece."""
    form = DeadForm(request.GET if "months" in request.GET else {"months": MONTHS_DEAD})
    months = (form.cleaned_data["months"] if form.is_valid() else None) or MONTHS_DEAD
    return form, months, rack_worth.months_ago(months)


@buyers_only
@require_safe
def rack_goods(request: ShopRequest) -> HttpResponse:
    """What the goods on the shelf carry."""
    rows = rack_worth.goods()
    context = {"rows": rows, "total": sum((row["worth"] for row in rows), NOTHING)}
    return render(request, "jobs/spend_rack_goods.html", context)


@buyers_only
@require_safe
def goods(request: ShopRequest, pk: int) -> HttpResponse:
    """The movements that make up what some goods carry."""
    material = get_object_or_404(Material.objects.goods().with_stock(), pk=pk)
    moved = rack_worth.movements_of_goods(material)
    context = {
        "material": material,
        "page": Paginator(moved, ROWS).get_page(request.GET.get("page")),
        "worth": moved.aggregate(n=Sum("value", default=NOTHING))["n"],
    }
    return render(request, "jobs/spend_goods.html", context)


@buyers_only
@require_safe
def goods_export(request: ShopRequest, pk: int, kind: str) -> HttpResponse:
    material = get_object_or_404(Material.objects.goods(), pk=pk)
    return as_file(rack_worth.movements_as_table(rack_worth.movements_of_goods(material)), "goods", kind)


@buyers_only
@require_safe
def rack_age(request: ShopRequest, age: str) -> HttpResponse:
    """The pieces of one age."""
    words = {name: text for name, text, *_ in rack_worth.AGES}.get(age, "all ages")
    page = CappedPaginator(rack_worth.pieces_of_age(age), ROWS).get_page(request.GET.get("page"))
    return render(request, "jobs/spend_rack_age.html", {"words": words, "age": age, "page": page})


@buyers_only
@require_safe
def rack_export(request: ShopRequest, kind: str) -> HttpResponse:
    """The rack by age, what is dead of it, its goods, or its pieces: all, or those of an age."""
    name = request.GET.get("table", "")
    if name == "ages":
        table = rack_worth.ages_as_table(rack_worth.by_age())
    elif name == "dead":
        _, _, day = _dead_since(request)
        table = rack_worth.dead_as_table(day, request.shop)
    elif name == "goods":
        table = rack_worth.goods_as_table(rack_worth.goods())
    else:
        table = rack_worth.as_table(rack_worth.pieces_of_age(name), request.shop)
    return as_file(table, f"rack-{name}" if name else "rack", kind)


@buyers_only
@require_safe
def price_history(request: ShopRequest) -> HttpResponse:
    """What a material has cost."""
    form = PricesForm(request.GET or None)
    material = form.cleaned_data["material"] if form.is_valid() else None
    seen = prices.history(material) if material else []
    paid = [
        charts.Point(one.day, one.each, format_money(one.each, request.shop.currency))
        for one in seen
        if one.is_paid
    ]
    context = {
        "form": form,
        "material": material,
        "seen": list(reversed(seen)),
        "chart": [charts.line(paid, charts.DESK), charts.line(paid, charts.PHONE)],
    }
    return render(request, "jobs/spend_prices.html", context, status=422 if form.errors else 200)


@buyers_only
@require_safe
def prices_export(request: ShopRequest, kind: str) -> HttpResponse:
    form = PricesForm(request.GET)
    seen = prices.history(form.cleaned_data["material"]) if form.is_valid() else []
    return as_file(prices.as_table(seen, request.shop), "prices", kind)


@buyers_only
@require_safe
def compare(request: ShopRequest) -> HttpResponse:
    """From some past jobs: what should the next similar piece cost?"""
    form, following, area, compared = _compared(request)
    listed, chosen = (
        list(comparing.past_jobs()[:PAST_LISTED]),
        [one.job for one in compared.past] if compared else [],
    )
    context = {
        "form": form,
        "next_job": following,
        "has_list": area is not None,
        "compared": compared,
        "listed": listed,
        "chosen": chosen,
        "others": [job for job in chosen if job not in listed],
    }
    return render(request, "jobs/spend_compare.html", context, status=422 if form.errors else 200)


def _compared(
    request: ShopRequest,
) -> tuple[CompareForm, Job | None, int | None, comparing.Comparison | None]:
    """The form, the next job and the area of its parts, and the past jobs beside each other, where any are named."""
    form = CompareForm(request.GET or None)
    data = form.cleaned_data if form.is_valid() else {}
    past, following = data.get("past", []), data.get("next_job")
    area = comparing.areas([following]).get(following.pk, (None, 0))[0] if following else None
    return form, following, area, comparing.compare(past, area) if past else None


@buyers_only
@require_safe
def compare_export(request: ShopRequest, kind: str) -> HttpResponse:
    *_, compared = _compared(request)
    return as_file(
        tables.of_comparison(compared or comparing.compare([], None), request.shop), "past-jobs", kind
    )
