"""Marking a piece's flaws: by numbers, or by two taps on its drawing."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from inventory import flaws as marking
from inventory.forms.flaws import flaw_rows, flaws_typed
from jobs import drawings
from jobs.views.getting import get_piece_for
from shared import codes
from shared.access import ShopRequest
from shared.refusal import Refused


def flaws(request: ShopRequest, code: str) -> HttpResponse:
    """Rectangles that no part may lie over; the next plan cuts around them."""
    found = get_piece_for(request.user, code)
    sent = request.POST if request.method == "POST" else None
    rows = flaw_rows(sent, found, request.shop)
    refused = ""
    if sent is not None and rows.is_valid():
        try:
            marked = marking.mark(piece=found, flaws=flaws_typed(rows))
        except Refused as refusal:
            refused = str(refusal)
        else:
            count = "1 flaw is" if len(marked) == 1 else f"{len(marked)} flaws are"
            messages.success(
                request, f"{count} marked on {codes.grouped(found.code)}. Plans cut around them."
            )
            return redirect("piece", found.code)
    context = {
        "piece": found,
        "drawing": drawings.of_piece(found, request.shop, has_arrow=False),
        "slender": min(3, found.length // (6 * found.width)),
        "rows": rows,
        "refused": refused,
        "per_unit": {"in": 1_016_000, "mm": 40_000}[request.shop.unit],
    }
    return render(request, "jobs/flaws.html", context, status=422 if sent is not None else 200)
