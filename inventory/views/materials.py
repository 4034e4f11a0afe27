"""What the shop keeps: materials, their offers and their names."""

from typing import Any

from django.contrib import messages
from django.db.models import Sum
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory import cataloguing, putting_in
from inventory.filters import MaterialFilter
from inventory.forms.catalogue import MaterialForm, NameForm, OfferForm, price_unit
from inventory.forms.putting_in import GoodsPutInForm
from inventory.ledger import NOTHING
from inventory.models import Material
from inventory.views.getting import get_material_for
from shared.access import ShopRequest, buyers_only, may_see_prices
from shared.paging import CappedPaginator
from shared.refusal import Refused

ROWS = 100


@require_safe
def materials(request: ShopRequest) -> HttpResponse:
    """What we keep, and how much of it is there."""
    found_by = MaterialFilter(request.GET)
    page = CappedPaginator(found_by.qs, ROWS).get_page(request.GET.get("page"))
    context = {"filter": found_by, "form": found_by.form, "page": page}
    return render(request, "inventory/materials.html", context)


@require_safe
def material(request: ShopRequest, pk: int) -> HttpResponse:
    """What it is, what is there of it, what it costs, what parts lists call it."""
    return _page(request, get_material_for(request.user, pk))


def _page(request: ShopRequest, found: Material, **refused: Any) -> HttpResponse:
    """The material's page; `refused` are forms of it that could not be taken, to be shown as typed."""
    with_prices = may_see_prices(request.user)
    by_size = ("-is_current", "length", "width", "-seen_on", "-id")
    offers = found.offers.select_related("supplier").order_by(*by_size)
    carried = found.pieces.in_rack().aggregate(value=Sum("value"))["value"] if with_prices else None
    context = {
        "material": found,
        "worth": carried or NOTHING,
        "cheapest": found.offers.current().order_by("price").first() if with_prices else None,
        "stock_of_it": f"{reverse('stock')}?material={found.pk}",
        "offers": offers if with_prices else [],
        "price_unit": price_unit(found),
        "names": found.names.order_by("name"),
        "offer_form": OfferForm(shop=request.shop, material=found) if with_prices else None,
        "name_form": NameForm(),
        "put_in_form": GoodsPutInForm(shop=request.shop) if with_prices and found.is_goods else None,
        **refused,
    }
    return render(request, "inventory/material.html", context, status=422 if refused else 200)


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def material_new(request: ShopRequest) -> HttpResponse:
    kind = request.GET.get("kind", "")
    blank = Material(kind=kind if kind in Material.Kind.values else Material.Kind.SHEET)
    form = MaterialForm(request.POST if request.method == "POST" else None, shop=request.shop, material=blank)
    if form.is_bound and form.is_valid():
        try:
            made = cataloguing.add_material(kind=blank.kind, **form.columns())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{made} is kept now.")
            return redirect("material", made.pk)
    context = {"form": form, "kind": blank.kind, "kinds": Material.Kind.choices}
    return render(request, "inventory/material_form.html", context, status=422 if form.is_bound else 200)


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def material_edit(request: ShopRequest, pk: int) -> HttpResponse:
    found = get_material_for(request.user, pk)
    form = MaterialForm(request.POST if request.method == "POST" else None, shop=request.shop, material=found)
    if form.is_bound and form.is_valid():
        try:
            cataloguing.change_material(material=found, **form.columns())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{found} is saved.")
            return redirect("material", found.pk)
    context = {"form": form, "material": found}
    return render(request, "inventory/material_form.html", context, status=422 if form.is_bound else 200)


@buyers_only
@require_POST
def offer_new(request: ShopRequest, pk: int) -> HttpResponse:
    """A price seen: it takes the place of the one before from the same supplier for the same size."""
    found = get_material_for(request.user, pk)
    form = OfferForm(request.POST, shop=request.shop, material=found)
    if not form.is_valid():
        return _page(request, found, offer_form=form)
    offer = cataloguing.add_offer(material=found, **form.cleaned_data)
    messages.success(request, f"{offer.supplier}’s price is kept.")
    return redirect("material", found.pk)


@buyers_only
@require_POST
def offer_end(request: ShopRequest, pk: int, offer: int) -> HttpResponse:
    found = get_material_for(request.user, pk)
    ended = get_object_or_404(found.offers.select_related("supplier"), pk=offer)
    cataloguing.end_offer(offer=ended)
    messages.success(request, f"{ended.supplier} sells this no longer. What it cost is kept.")
    return redirect("material", found.pk)


@buyers_only
@require_POST
def name_new(request: ShopRequest, pk: int) -> HttpResponse:
    found = get_material_for(request.user, pk)
    form = NameForm(request.POST)
    if form.is_valid():
        try:
            name = cataloguing.add_name(material=found, name=form.cleaned_data["name"])
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"A parts list that says “{name}” means this now.")
            return redirect("material", found.pk)
    return _page(request, found, name_form=form)


@buyers_only
@require_POST
def name_remove(request: ShopRequest, pk: int, name: int) -> HttpResponse:
    found = get_material_for(request.user, pk)
    removed = found.names.filter(pk=name).first()
    if removed:  # a second tap finds it gone, which is what was asked
        cataloguing.remove_name(name=removed)
        messages.success(request, f"“{removed}” is forgotten. A parts list that uses it will ask again.")
    return redirect("material", found.pk)


@buyers_only
@require_POST
def goods_put_in(request: ShopRequest, pk: int) -> HttpResponse:
    """Goods that were on the shelf before they were counted."""
    found = get_material_for(request.user, pk)
    form = GoodsPutInForm(request.POST, shop=request.shop)
    if form.is_valid():
        asked = {**form.cleaned_data, "value": form.cleaned_data["value"] or 0}
        try:
            putting_in.put_in_goods(material=found, by=request.user, **asked)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{found}: counted in.")
            return redirect("material", found.pk)
    return _page(request, found, put_in_form=form)
