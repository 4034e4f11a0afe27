"""A job's plan: ask for it, watch it work, hold its pieces, print it."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from jobs import holding, planning, printing, showing
from jobs.diagrams.pdf import Page
from jobs.models import Job, Plan
from jobs.views.getting import get_job_for
from shared.access import ShopRequest, may_see_prices
from shared.chosen import number_in
from shared.refusal import Refused


def _plan_of(job: Job, wanted: str = "") -> Plan | None:
    """The newest plan; `accepted` asks for the one the job is cut by."""
    plans = job.plans.select_related("job", "asked_by")
    return plans.filter(state=Plan.State.ACCEPTED).first() if wanted == "accepted" else plans.first()


@require_safe
def plan(request: ShopRequest, number: str) -> HttpResponse:
    """What comes from offcuts, from the rack, from the yard; what it costs; how to cut it."""
    job = get_job_for(request.user, number)
    found = _plan_of(job, request.GET.get("show", ""))
    context: dict[str, Any] = {"job": job, "plan": found, "accepted": _plan_of(job, "accepted")}
    if found is None:
        return render(request, "jobs/plan_none.html", context | {"to_plan": planning.parts_to_cut(job)})
    if found.state in (Plan.State.WORKING, Plan.State.FAILED):
        context["is_left"] = planning.is_left_half_done(found)
        return render(request, "jobs/plan_working.html", context)
    shown = showing.plan(found, request.shop, with_prices=may_see_prices(request.user))
    reasons = planning.why_out_of_date(found) if found.state == Plan.State.READY else []
    return render(request, "jobs/plan.html", context | {"shown": shown, "reasons": reasons})


@require_POST
def ask(request: ShopRequest, number: str) -> HttpResponse:
    """Plan the whole job: one tap."""
    job = get_job_for(request.user, number)
    planning.ask_for_plan(job=job, by=request.user)
    return redirect("plan", job.number)


@require_safe
def progress(request: ShopRequest, number: str) -> HttpResponse:
    """The bar while it works; when it is done the page is loaded whole."""
    job = get_job_for(request.user, number)
    found = _plan_of(job)
    if found is None or found.state != Plan.State.WORKING:
        return HttpResponse(headers={"HX-Refresh": "true"})
    context = {"job": job, "plan": found, "is_left": planning.is_left_half_done(found)}
    return render(request, "jobs/_plan_progress.html", context)


@require_POST
def stop(request: ShopRequest, number: str) -> HttpResponse:
    """Enough: take the best it has so far."""
    job = get_job_for(request.user, number)
    job.plans.filter(state=Plan.State.WORKING).update(is_cancelled=True)
    return redirect("plan", job.number)


@require_POST
def accept(request: ShopRequest, number: str) -> HttpResponse:
    """Hold its pieces and make the buy list."""
    job = get_job_for(request.user, number)
    found = job.plans.filter(pk=number_in(request.POST.get("plan", "")) or 0).first()
    if found is None:
        raise Refused("A newer plan has taken this one's place. Look at it first.")
    holding.accept(plan=found, by=request.user)
    to_buy = job.buy_lines.open().count()
    also = f" {to_buy} lines are on the buy list." if to_buy else " Nothing has to be bought."
    messages.success(request, f"The pieces are held for {job.number}.{also}")
    return redirect("plan", job.number)


@require_POST
def give_up(request: ShopRequest, number: str) -> HttpResponse:
    """Let an accepted plan go: what it held is free again."""
    job = get_job_for(request.user, number)
    holding.give_up_plan(job=job, by=request.user)
    messages.success(request, "The plan is given up; what it held and has not been cut is free again.")
    return redirect("job", job.number)


@require_safe
def pdf(request: ShopRequest, number: str) -> HttpResponse:
    """The plan for the saw, on Letter or A4."""
    job = get_job_for(request.user, number)
    found = _plan_of(job, "accepted") or _plan_of(job)
    if found is None or found.state in (Plan.State.WORKING, Plan.State.FAILED):
        raise Refused("There is no plan to print yet.")
    page: Page = "a4" if request.GET.get("page", "") == "a4" else "letter"
    data = printing.plan_pdf(found, request.shop, page=page, with_prices=may_see_prices(request.user))
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="plan-{job.number}.pdf"'
    return response
