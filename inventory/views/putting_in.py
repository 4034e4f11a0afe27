"""Pieces that were in the shop before they had a label."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from inventory import putting_in
from inventory.forms.fields import problems_in
from inventory.forms.putting_in import PutInForm, flaw_forms, flaws_in
from inventory.models import Piece
from shared import codes
from shared.access import ShopRequest
from shared.refusal import Refused


@require_http_methods(["GET", "HEAD", "POST"])
def put_in(request: ShopRequest) -> HttpResponse:
    """An offcut that was here already. A link may bring what it is of and where it is put."""
    sent = request.POST if request.method == "POST" else None
    form = PutInForm(sent, shop=request.shop, person=request.user, initial=request.GET.dict())
    flaws = flaw_forms(sent, request.shop)
    if sent is not None and form.is_valid() and flaws.is_valid():
        try:
            piece = putting_in.put_in(**form.asked(), flaws=flaws_in(flaws), by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return _after(request, piece)
    context = {"form": form, "flaws": flaws, "problems": problems_in(flaws, "Flaw")}
    return render(request, "inventory/put_in.html", context, status=422 if form.is_bound else 200)


def _after(request: ShopRequest, piece: Piece) -> HttpResponse:
    """To the piece, or to the next one of the same material at the same place."""
    messages.success(request, f"{codes.grouped(piece.code)} is on the rack. Its label waits to be printed.")
    if request.POST.get("do") != "next":
        return redirect("piece", piece.code)
    same: dict[str, Any] = {"material": piece.material_id, "kind": piece.kind, "place": piece.place_id or ""}
    return redirect(f"{reverse('put-in')}?{urlencode(same)}")
