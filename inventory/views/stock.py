"""What is on the rack: found, and several at once labelled or moved."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory import handling
from inventory.filters import StockFilter
from inventory.forms.catalogue import MoveForm
from inventory.models import Piece, Place
from inventory.views.getting import get_chosen_pieces_for
from inventory.views.labels import labels_address
from shared import codes
from shared.access import ShopRequest
from shared.paging import CappedPaginator
from shared.refusal import Refused
from shared.taps import key_of, new_key

ROWS = 50


@require_safe
def stock(request: ShopRequest) -> HttpResponse:
    """What is there of this, at least so long by so wide. A whole code goes straight to its piece."""
    if found := _piece_named(request.GET.get("q", "")):
        return redirect("piece", found.code)
    found_by = StockFilter(request.GET, shop=request.shop)
    page = CappedPaginator(found_by.qs, ROWS).get_page(request.GET.get("page"))
    context = {
        "filter": found_by,
        "form": found_by.form,
        "page": page,
        "move_form": MoveForm(places=found_by.places),
        "key": new_key(),
        "is_asked": bool(set(request.GET) - {"page", "sort"}),
    }
    return render(request, "inventory/stock.html", context, status=200 if found_by.is_valid() else 422)


def _piece_named(text: str) -> Piece | None:
    try:
        return Piece.objects.filter(code=codes.parse_code(text)).first()
    except codes.NotACode:
        return None


@require_POST
def chosen(request: ShopRequest) -> HttpResponse:
    """What was ticked in the list: labels for it, or another place."""
    pieces = get_chosen_pieces_for(request.user, request.POST.getlist("code"))
    if not pieces:
        raise Refused("No piece is ticked. Go back, tick one or more, then choose what to do with them.")
    if request.POST.get("do") == "move":
        return _move(request, pieces)
    return redirect(labels_address(pieces))


def _move(request: ShopRequest, pieces: list[Piece]) -> HttpResponse:
    form = MoveForm(request.POST, places=Place.objects.all())
    if not form.is_valid():
        raise Refused("Choose the place they go to. Nothing was moved yet.")
    place = form.cleaned_data["place"]
    moved = handling.move_all(pieces=pieces, place=place, by=request.user, key=key_of(request))
    pieces_text = "1 piece is" if len(moved) == 1 else f"{len(moved)} pieces are"
    messages.success(request, f"{pieces_text} in {place} now.")
    return redirect(f"{reverse('stock')}?{request.POST.get('back', '')[:2000]}")
