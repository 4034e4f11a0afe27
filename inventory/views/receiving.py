"""Deliveries: typed from the invoice, checked, put on the rack."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import receiving
from inventory.forms.delivery import SORTS, Delivery, counted
from inventory.models import Receipt
from inventory.views.getting import get_receipt_for
from inventory.views.labels import labels_address
from shared.access import ShopRequest, buyers_only
from shared.refusal import Refused

ROWS = 50


@buyers_only
@require_safe
def receipts(request: ShopRequest) -> HttpResponse:
    """What came in, newest first."""
    rows = Receipt.objects.select_related("supplier", "entered_by").prefetch_related("lines__material")
    page = Paginator(rows, ROWS).get_page(request.GET.get("page"))
    return render(request, "inventory/receipts.html", {"page": page})


@buyers_only
@require_safe
def receipt(request: ShopRequest, pk: int) -> HttpResponse:
    """One delivery: its lines and what they cost, the pieces that came with it, their labels."""
    found = get_receipt_for(request.user, pk)
    pieces = [piece for line in found.lines.all() for piece in line.pieces.all()]
    context = {"receipt": found, "pieces": pieces, "labels_url": labels_address(pieces)}
    return render(request, "inventory/receipt.html", context)


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def receive(request: ShopRequest) -> HttpResponse:
    """An invoice's head and lines, checked first. A link may bring lines, by their fields' names."""
    do = request.POST.get("do", "")
    if request.method != "POST":
        return _form(request, Delivery(shop=request.shop, typed=request.GET))
    if do in SORTS or do == "change":
        return _form(request, Delivery(shop=request.shop, typed=request.POST, more=do))
    delivery = Delivery(shop=request.shop, sent=request.POST)
    try:
        if delivery.is_valid:
            return _enter(request, delivery) if do == "enter" else _check(request, delivery)
    except Refused as refusal:
        delivery.head.add_error(None, str(refusal))
    return _form(request, delivery, status=422)


def _form(request: ShopRequest, delivery: Delivery, status: int = 200) -> HttpResponse:
    return render(request, "inventory/receive.html", {"delivery": delivery}, status=status)


def _check(request: ShopRequest, delivery: Delivery) -> HttpResponse:
    """What it will cost, before anything is on the rack."""
    context = {
        "delivery": delivery,
        "checked": delivery.checked(),
        "head": delivery.head.cleaned_data,
        "counted": counted(delivery.lines),
    }
    return render(request, "inventory/receive_check.html", context)


def _enter(request: ShopRequest, delivery: Delivery) -> HttpResponse:
    with transaction.atomic():  # a supplier named for a delivery that is refused is not kept
        entered = receiving.receive(**delivery.asked(), by=request.user)
    messages.success(request, f"{counted(delivery.lines)} received.")
    return redirect("receipt", entered.pk)
