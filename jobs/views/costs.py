"""What jobs cost: one job's page, and its goods."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from jobs import buying, costing, estimating, goods_list, making, tables
from jobs.forms.costs import GoodsForm
from jobs.views.exports import as_file
from jobs.views.getting import get_job_for
from shared.access import ShopRequest, buyers_only
from shared.money import format_money
from shared.refusal import Refused
from shared.taps import counted_once, key_of, new_key


@buyers_only
@require_safe
def cost(request: ShopRequest, number: str) -> HttpResponse:
    """Planned against actual, and the movements behind the figures."""
    job = get_job_for(request.user, number)
    found = costing.job_cost(job, request.shop)
    context = {
        "job": job,
        "cost": found,
        "goods_wanted": goods_list.rows_of(job, found),
        "form": GoodsForm(),
        "key": new_key(),
    }
    return render(request, "jobs/cost.html", context)


@buyers_only
@require_safe
def cost_export(request: ShopRequest, number: str, kind: str) -> HttpResponse:
    """One of the cost page's tables; `table` says which, its charges where it does not."""
    job = get_job_for(request.user, number)
    name = request.GET.get("table", "charges")
    if name not in tables.OF_A_JOB:
        raise Http404("The page has no such table.")
    table = tables.OF_A_JOB[name](costing.job_cost(job, request.shop))
    return as_file(table, f"{job.number}-{name}", kind)


@require_POST
@counted_once
def goods(request: ShopRequest, number: str) -> HttpResponse:
    """Hinges, glue and finish: into the job, back to stock, or onto the buy list."""
    job = get_job_for(request.user, number)
    form = GoodsForm(request.POST)
    if not form.is_valid():
        raise Refused(_what_is_wrong(form))
    asked: dict[str, Any] = {
        "job": job,
        "material": form.cleaned_data["material"],
        "quantity": form.cleaned_data["quantity"],
    }
    what = f"{asked['quantity'].normalize():f} {asked['material'].unit} of {asked['material']}"
    if "back" in request.POST:
        making.put_goods_back(by=request.user, key=key_of(request), **asked)
        messages.success(request, f"{what} came back to stock.")
    elif "list" in request.POST:
        goods_list.put(**asked)
        messages.success(request, f"{what}: on the job’s list.")
    elif "want" in request.POST:
        buying.want(**asked)
        messages.success(request, f"{what} is on the buy list.")
    else:
        making.issue_goods(by=request.user, key=key_of(request), **asked)
        messages.success(request, f"{what} went into {job.number}.")
    return redirect("job" if request.POST.get("next") == "job" else "cost", job.number)


@buyers_only
@require_POST
def freeze(request: ShopRequest, number: str) -> HttpResponse:
    """Today's estimate takes the place of any before."""
    job = get_job_for(request.user, number)
    amount = estimating.freeze_anew(job)
    messages.success(request, f"The estimate is {format_money(amount, request.shop.currency)} from now on.")
    return redirect("cost", job.number)


def _what_is_wrong(form: GoodsForm) -> str:
    return " ".join(str(text) for texts in form.errors.values() for text in texts)
