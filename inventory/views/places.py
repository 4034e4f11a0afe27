"""Where things are."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import cataloguing
from inventory.forms.catalogue import PlaceForm
from inventory.models import Place
from inventory.views.getting import get_place_for
from inventory.views.labels import labels_address
from shared.access import ShopRequest, buyers_only
from shared.refusal import Refused


@require_safe
def places(request: ShopRequest) -> HttpResponse:
    """All places along the walk, and how many pieces are at each."""
    rows = Place.objects.with_pieces()
    context = {"places": rows, "labels_url": labels_address(list(rows))}
    return render(request, "inventory/places.html", context)


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def place_new(request: ShopRequest) -> HttpResponse:
    form = PlaceForm(request.POST if request.method == "POST" else None, shop=request.shop)
    if form.is_bound and form.is_valid():
        try:
            made = cataloguing.add_place(**form.cleaned_data)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"{made} is a place now. Its label waits to be printed.")
            return redirect("places")
    return render(request, "inventory/place.html", {"form": form}, status=422 if form.is_bound else 200)


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: ShopRequest, pk: int) -> HttpResponse:
    """Rename it, put it within another, move it along the walk."""
    found = get_place_for(request.user, pk)
    now = {"name": found.name, "within": found.within, "walk_order": found.walk_order}
    form = PlaceForm(request.POST if request.method == "POST" else None, shop=request.shop, initial=now)
    if form.is_bound and form.is_valid():
        try:
            cataloguing.change_place(place=found, **form.columns())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{found} is saved.")
            return redirect("places")
    context = {"form": form, "place": found}
    return render(request, "inventory/place.html", context, status=422 if form.is_bound else 200)
