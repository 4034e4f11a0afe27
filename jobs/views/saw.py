"""At the saw: the next piece, its drawing and steps; cut, spoil, next."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.models import State
from inventory.views.tapping import refuse_form, tap
from jobs import making, showing, showing_solid
from jobs.forms.sawing import LeftForm
from jobs.models import Layout, Spoiled
from jobs.views.getting import get_job_for
from shared import codes
from shared.access import ShopRequest
from shared.chosen import number_in
from shared.refusal import Refused
from shared.taps import key_of, new_key


@require_safe
def saw(request: ShopRequest, number: str) -> HttpResponse:
    """What is to be cut, in rack order; the next one drawn."""
    job = get_job_for(request.user, number)
    plan = job.plans.accepted().first()
    layouts = showing.layouts_in_rack_order(plan) if plan else []
    waiting = [layout for layout in layouts if layout.state == Layout.State.TO_CUT]
    here = [layout for layout in waiting if layout.piece]
    context = {
        "job": job,
        "plan": plan,
        "next": showing.layout(here[0], plan, request.shop) if plan and here else None,
        "total": len(layouts),
        "rest": here[1:],
        "to_pull": sum(1 for layout in here if layout.piece and layout.piece.state == State.ON_RACK),
        "to_come": [layout for layout in waiting if not layout.piece],
        "done": [layout for layout in layouts if layout.state == Layout.State.CUT],
        "blanks": showing_solid.blanks_of(plan, request.shop, only_finished=True) if plan else [],
        "parts": job.parts.filter(cut__gt=0),
        "spoilings": Spoiled.objects.filter(part__job=job).select_related("part", "by").order_by("-pk"),
        "key": new_key(),
    }
    return render(request, "jobs/saw.html", context)


@tap
def cut_layout(request: ShopRequest, number: str, pk: int) -> HttpResponse:
    """The parts it gives and the offcuts it should leave, each size editable to what was really left."""
    job = get_job_for(request.user, number)
    layout = get_object_or_404(
        Layout.objects.select_related("plan__job", "piece__material", "piece__place", "material"),
        pk=pk,
        plan__job=job,
    )
    shown = showing.layout(layout, layout.plan, request.shop)
    form = LeftForm(request.POST or None, shop=request.shop, planned=shown.offcuts, rows=0)
    if request.method == "POST" and form.is_valid():
        try:
            cut = making.cut_layout(
                layout=layout,
                left=form.left(),
                by=request.user,
                key=key_of(request),
                note=form.cleaned_data["note"],
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            labels = ", ".join(codes.grouped(offcut.code) for offcut in cut.offcuts)
            left = f" Write these on what is left, labels wait: {labels}." if labels else ""
            messages.success(request, f"{codes.grouped(str(layout.piece))} is cut.{left}")
            return redirect("saw", job.number)
    refuse_form(request, form)
    context = {"job": job, "shown": shown, "form": form, "key": key_of(request) or new_key()}
    return render(request, "jobs/cut_layout.html", context, status=422 if form.errors else 200)


@require_POST
def spoil(request: ShopRequest, number: str, pk: int) -> HttpResponse:
    """A part can't be used: it goes back to be planned again."""
    job = get_job_for(request.user, number)
    part = get_object_or_404(job.parts, pk=pk)
    text = request.POST.get("count", "1").strip()
    count = number_in(text)
    if count is None:
        raise Refused(f"“{text[:20]}” is no count of spoiled parts. Write 1 or 2.")
    making.spoil(
        part=part, count=count, by=request.user, key=key_of(request), why=request.POST.get("why", "")
    )
    messages.success(request, f"{count} × {part.name} goes back to be planned again.")
    return redirect("saw", job.number)


@require_POST
def unspoil(request: ShopRequest, number: str, pk: int) -> HttpResponse:
    """It was good after all."""
    job = get_job_for(request.user, number)
    spoiled = get_object_or_404(Spoiled.objects.select_related("part"), pk=pk, part__job=job)
    making.unspoil(spoiled)
    messages.success(request, f"{spoiled.part.name} counts as cut again.")
    return redirect("saw", job.number)
