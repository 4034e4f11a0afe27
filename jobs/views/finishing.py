"""How much finish a job needs, and onto the buy list with it."""

from decimal import ROUND_UP, Decimal

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from jobs import buying
from jobs.finishing import FORMULA, Estimate, estimate, spreading_rate
from jobs.forms.finishing import FinishingForm
from jobs.models import Job
from jobs.views.getting import get_job_for
from shared.access import ShopRequest
from shared.refusal import Refused
from shared.units import convert

TENTH = Decimal("0.1")


def finishing(request: ShopRequest, number: str) -> HttpResponse:
    """The estimate with its formula by GET; by POST the finish goes onto the buy list."""
    job = get_job_for(request.user, number)
    typed = request.POST if request.method == "POST" else request.GET
    form = FinishingForm(typed if "coats" in typed else None, unit=request.shop.unit)
    found, rate = None, ""
    if form.is_bound and form.is_valid():
        material = form.cleaned_data["material"]
        found = estimate(job, form.coating(), form.sides(), material.unit if material else "")
        rate = _rate(spreading_rate(form.coating()), request)
        if request.method == "POST":
            return _want(request, job, form, found)
    context = {"job": job, "form": form, "found": found, "rate": rate, "formula": FORMULA}
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "jobs/finishing.html", context, status=status)


def _rate(m2_per_litre: Decimal, request: ShopRequest) -> str:
    if request.shop.unit == "mm":
        return f"{m2_per_litre:.1f} m² a litre"
    return f"{convert(m2_per_litre, 'm^2/litre', 'ft^2/gallon'):.0f} sq ft a gallon"


def _want(request: ShopRequest, job: Job, form: FinishingForm, found: Estimate) -> HttpResponse:
    material = form.cleaned_data["material"]
    if material is None or found.quantity is None:
        raise Refused("Choose a finish that is counted in quarts, gallons or litres. Nothing was added.")
    step = Decimal(1) if material.is_counted_whole else TENTH
    quantity = found.quantity.quantize(step, ROUND_UP)
    buying.want(job=job, material=material, quantity=quantity)
    messages.success(request, f"{quantity.normalize():f} {material.unit} of {material} is on the buy list.")
    return redirect("buying")
