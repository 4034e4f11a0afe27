"""What jobs cost: one job's page, its goods, and spend over all."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from jobs import buying, costing, making
from jobs.forms.costs import GoodsForm, SpendForm
from jobs.views.exports import as_file
from jobs.views.getting import get_job_for
from shared.access import ShopRequest, buyers_only
from shared.refusal import Refused
from shared.taps import key_of, new_key


@buyers_only
@require_safe
def cost(request: ShopRequest, number: str) -> HttpResponse:
    """Planned against actual, and the movements behind the figures."""
    job = get_job_for(request.user, number)
    context = {"job": job, "cost": costing.job_cost(job), "form": GoodsForm(), "key": new_key()}
    return render(request, "jobs/cost.html", context)


@require_POST
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
    elif "want" in request.POST:
        buying.want(**asked)
        messages.success(request, f"{what} is on the buy list.")
    else:
        making.issue_goods(by=request.user, key=key_of(request), **asked)
        messages.success(request, f"{what} went into {job.number}.")
    return redirect((request.POST.get("next") == "job" and "job") or "cost", job.number)


def _what_is_wrong(form: GoodsForm | SpendForm) -> str:
    return " ".join(str(text) for texts in form.errors.values() for text in texts)


def _asked(form: SpendForm) -> dict[str, Any]:
    data = form.cleaned_data if form.is_valid() else {}
    client, material = data.get("client"), data.get("material")
    return {
        "group": data.get("group") or "job",
        "first": data.get("first"),
        "last": data.get("last"),
        "client_pk": client.pk if client else None,
        "material_pk": material.pk if material else None,
    }


@buyers_only
@require_safe
def spend(request: ShopRequest) -> HttpResponse:
    """Spent by job, client, month, material; the total is the ledger's."""
    form = SpendForm(request.GET or None)
    asked = _asked(form)
    context = {
        "form": form,
        "group": asked["group"],
        "spend": costing.spend(**asked),
        "saved": costing.saved_by_offcuts(asked["first"], asked["last"]),
        "on_rack": costing.value_on_rack(),
    }
    return render(request, "jobs/spend.html", context, status=422 if request.GET and form.errors else 200)


@buyers_only
@require_safe
def spend_export(request: ShopRequest, kind: str) -> HttpResponse:
    """The same table as CSV or XLSX; never more than was asked for."""
    form = SpendForm(request.GET or None)
    asked = _asked(form)
    if form.errors:
        raise Refused(_what_is_wrong(form))
    table = costing.as_table(costing.spend(**asked), asked["group"])
    return as_file(table, f"spend-by-{asked['group']}", kind)
