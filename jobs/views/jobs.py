"""Jobs: the list, a new one, one."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from jobs import costing, goods_list, holding, taking_on, woodfacts
from jobs.forms.costs import GoodsForm
from jobs.forms.jobs import JobEditForm, JobForm
from jobs.models import Client, Job
from jobs.views.getting import get_job_for
from shared.access import ShopRequest, may_see_prices
from shared.refusal import Refused
from shared.taps import counted_once, key_of, new_key

A_PAGE = 40


@require_safe
def jobs(request: ShopRequest) -> HttpResponse:
    """What is being made, and what each still needs."""
    words, state = request.GET.get("q", "").strip(), request.GET.get("state", "open")
    found = Job.objects.with_progress()
    if state == "open":
        found = found.open()
    elif state in Job.State.values:
        found = found.filter(state=state)
    if words:
        found = found.filter(
            Q(number__icontains=words) | Q(title__icontains=words) | Q(client__name__icontains=words)
        )
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "q": words, "state": state, "states": Job.State.choices}
    return render(request, "jobs/jobs.html", context)


@counted_once
def job_new(request: ShopRequest) -> HttpResponse:
    """A commission comes in."""
    form = JobForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = taking_on.take_on(**form.cleaned_data)
        except Refused as refusal:
            form.add_error("number", str(refusal))
        else:
            messages.success(request, f"{made} is taken on. Its parts list comes next.")
            return redirect("parts", made.number)
    context = {
        "form": form,
        "clients": Client.objects.all(),
        "next_number": taking_on.next_number(),
        "key": key_of(request) or new_key(),
    }
    return render(request, "jobs/job_new.html", context, status=422 if form.errors else 200)


@require_safe
def job(request: ShopRequest, number: str) -> HttpResponse:
    """How far it is, and the next step."""
    found = get_job_for(request.user, number)
    plan = found.plans.first()
    accepted = found.plans.accepted().first()
    cost = costing.job_cost(found, request.shop) if may_see_prices(request.user) else None
    context = {
        "job": found,
        "plan": plan,
        "accepted": accepted,
        "to_cut": accepted.layouts.filter(state="to cut").count() if accepted else 0,
        "to_come": accepted.layouts.filter(state="to cut", piece=None).count() if accepted else 0,
        "holds": found.holds.select_related("piece__material", "piece__place"),
        "weight": woodfacts.weight_of(found),
        "cost": cost,
        "goods_wanted": goods_list.rows_of(found, cost),
        "goods_form": GoodsForm(),
        "key": new_key(),
    }
    return render(request, "jobs/job.html", context)


def job_edit(request: ShopRequest, number: str) -> HttpResponse:
    """A job's own data."""
    found = get_job_for(request.user, number)
    initial = {
        "title": found.title,
        "number": found.number,
        "client_name": found.client.name if found.client else "",
        "due": found.due,
        "note": found.note,
        "state": found.state,
    }
    form = JobEditForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            changed = taking_on.change(job=found, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{changed} is changed.")
            return redirect("job", changed.number)
    context = {"form": form, "job": found, "clients": Client.objects.all()}
    return render(request, "jobs/job_new.html", context, status=422 if form.errors else 200)


@require_POST
def finish(request: ShopRequest, number: str) -> HttpResponse:
    found = get_job_for(request.user, number)
    holding.finish(job=found, by=request.user)
    messages.success(request, f"{found} is done. What was still held is free again.")
    return redirect("job", found.number)
