"""From whom we buy."""

from django.contrib import messages
from django.db.models import Count, Max, Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import cataloguing
from inventory.forms.catalogue import SupplierForm
from inventory.models import Supplier
from inventory.views.getting import get_supplier_for
from shared.access import ShopRequest, buyers_only
from shared.refusal import Refused


@buyers_only
@require_safe
def suppliers(request: ShopRequest) -> HttpResponse:
    """Whom to call, how many prices of theirs we know, and when they last delivered."""
    current = Count("offers", filter=Q(offers__is_current=True), distinct=True)
    rows = Supplier.objects.annotate(offers_now=current, last=Max("receipts__date"))
    return render(request, "inventory/suppliers.html", {"suppliers": rows.order_by("name")})


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def supplier_new(request: ShopRequest) -> HttpResponse:
    form = SupplierForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            made = cataloguing.add_supplier(**form.cleaned_data)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"{made} is a supplier now.")
            return redirect("supplier", made.pk)
    return render(request, "inventory/supplier.html", {"form": form}, status=422 if form.is_bound else 200)


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def supplier(request: ShopRequest, pk: int) -> HttpResponse:
    """How to reach them, what they sell at which price, what they delivered."""
    found = get_supplier_for(request.user, pk)
    now = {"name": found.name, "reach": found.reach, "note": found.note}
    form = SupplierForm(request.POST if request.method == "POST" else None, initial=now)
    if form.is_bound and form.is_valid():
        try:
            cataloguing.change_supplier(supplier=found, **form.cleaned_data)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"{found} is saved.")
            return redirect("supplier", found.pk)
    context = {
        "form": form,
        "supplier": found,
        "offers": found.offers.current().select_related("material").order_by("material__name", "length"),
        "receipts": found.receipts.prefetch_related("lines__material")[:20],
    }
    return render(request, "inventory/supplier.html", context, status=422 if form.is_bound else 200)
