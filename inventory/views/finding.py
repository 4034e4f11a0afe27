"""In front of the rack: which piece is the nearest fit."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory import finding
from inventory.forms.finding import FindForm
from shared.access import ShopRequest
from shared.taps import new_key


@require_safe
def rack_find(request: ShopRequest) -> HttpResponse:
    """A piece at least this by this of this material; where none is, the largest there is."""
    form = FindForm(request.GET if "material" in request.GET else None, shop=request.shop)
    context = {"form": form, "key": new_key()}
    if form.is_valid():
        context |= {"fits": finding.nearest_fits(**form.cleaned_data, shop=request.shop)}
        context |= {"largest": finding.largest(form.cleaned_data["material"])}
    return render(request, "inventory/rack_find.html", context, status=422 if form.errors else 200)
