"""What to buy, by supplier, for which jobs; what has arrived."""

from django.contrib import messages
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.models import Place, Supplier
from jobs import buying as shop_buying
from jobs import tables
from jobs.forms.buying import ArrivedForm
from jobs.models import BuyLine
from jobs.views.exports import as_file
from shared.access import ShopRequest, buyers_only
from shared.chosen import number_in
from shared.refusal import Refused
from shared.taps import key_of, new_key


@buyers_only
@require_safe
def buying(request: ShopRequest) -> HttpResponse:
    """The list in the yard's own words, a section a supplier."""
    context = {
        "sections": shop_buying.by_supplier(_to_buy()),
        "key": new_key(),
    }
    return render(request, "jobs/buying.html", context)


@buyers_only
@require_safe
def export(request: ShopRequest, kind: str) -> HttpResponse:
    """The buy list as a file, for the yard."""
    return as_file(tables.of_buy_list(shop_buying.by_supplier(_to_buy()), request.shop), "to-buy", kind)


def _to_buy() -> QuerySet[BuyLine]:
    lines = BuyLine.objects.open().with_all_shown()
    return lines.order_by("offer__supplier__name", "material__name", "pk")


@buyers_only
def receive(request: ShopRequest) -> HttpResponse:
    """What has arrived of the lines chosen: counts and prices as on the invoice; then labels."""
    chosen = map(number_in, [*request.GET.getlist("line"), *request.POST.getlist("line")])
    lines = list(BuyLine.objects.open().with_all_shown().filter(pk__in=[pk for pk in chosen if pk]))
    if not lines:
        raise Refused("Choose at least one line of the buy list that is still open.")
    form = ArrivedForm(request.POST or None, shop=request.shop, lines=lines)
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():  # a supplier named for a delivery that is refused is not kept
                receipt = shop_buying.receive(by=request.user, key=key_of(request), **form.asked())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "On the rack, held for the jobs. Their labels wait to be printed.")
            return redirect("receipt", receipt.pk)
    context = {
        "form": form,
        "lines": lines,
        "places": Place.objects.all(),
        "suppliers": Supplier.objects.all(),
        "key": key_of(request) or new_key(),
    }
    return render(request, "jobs/buying_receive.html", context, status=422 if form.errors else 200)


@buyers_only
@require_POST
def drop(request: ShopRequest, pk: int) -> HttpResponse:
    """Not needed after all."""
    line = get_object_or_404(BuyLine, pk=pk)
    shop_buying.drop(line)
    messages.success(request, f"{line.material} is off the buy list.")
    return redirect("buying")
