"""A shelf of goods, as its label opens it: into a job, back from one, counted."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory import goods
from inventory.models import Material, Movement
from jobs import making
from jobs.forms.shelf import CountForm, MoveForm
from shared.access import ShopRequest
from shared.refusal import Refused
from shared.taps import key_of, new_key
from shared.templatetags.sawbuck import quantity as shown

LATEST = 8


def get_shelf_for(pk: int) -> Material:
    """Goods with how many are left. Everyone who is signed in may see every shelf; it has no prices."""
    return get_object_or_404(Material.objects.goods().with_stock(), pk=pk)


@require_safe
def shelf(request: ShopRequest, pk: int) -> HttpResponse:
    """How many are there, and what was done with them last."""
    return _page(request, get_shelf_for(pk), MoveForm(), CountForm())


def _page(
    request: ShopRequest, found: Material, move: MoveForm, count: CountForm, status: int = 200
) -> HttpResponse:
    latest = Movement.objects.filter(lot__material=found).select_related("by")[:LATEST]
    context = {"material": found, "move": move, "count": count, "latest": latest, "key": new_key()}
    return render(request, "jobs/shelf.html", context, status=status)


@require_POST
def move(request: ShopRequest, pk: int) -> HttpResponse:
    """Some of them into a job, or back from it."""
    found, form = get_shelf_for(pk), MoveForm(request.POST)
    form.material = found
    if form.is_valid():
        asked = {"job": form.cleaned_data["job"], "quantity": form.cleaned_data["quantity"]}
        do = making.put_goods_back if "back" in request.POST else making.issue_goods
        try:
            do(material=found, by=request.user, key=key_of(request), **asked)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            where = "came back from" if "back" in request.POST else "went into"
            messages.success(request, f"{shown(asked['quantity'])} {found.unit} {where} {asked['job']}.")
            return redirect("shelf", found.pk)
    return _page(request, found, form, CountForm(), status=422)


@require_POST
def count(request: ShopRequest, pk: int) -> HttpResponse:
    """How many were seen; what is missing is written off."""
    found, form = get_shelf_for(pk), CountForm(request.POST)
    if form.is_valid():
        try:
            goods.count(
                material=found, counted=form.cleaned_data["counted"], by=request.user, key=key_of(request)
            )
        except Refused as refusal:
            form.add_error("counted", str(refusal))
        else:
            messages.success(request, f"{shown(form.cleaned_data['counted'])} {found.unit} are counted.")
            return redirect("shelf", found.pk)
    return _page(request, found, MoveForm(), form, status=422)
