"""Counting rounds: begun, scanned through, their differences resolved in bulk and posted."""

from decimal import Decimal

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory import counting
from inventory.models import Count, Place
from inventory.views.tapping import tap
from shared.access import ShopRequest
from shared.chosen import number_in
from shared.scanning import label_origin, with_decoder
from shared.taps import key_of, new_key

ROUNDS = 20


@require_safe
def counts(request: ShopRequest) -> HttpResponse:
    """The rounds that are open, and a new one."""
    rounds = Count.objects.select_related("place", "begun_by", "posted_by")
    context = {
        "open": rounds.open(),
        "posted": rounds.filter(posted_at__isnull=False)[:ROUNDS],
        "places": Place.objects.all(),
    }
    return render(request, "inventory/counts.html", context)


@require_POST
def count_begin(request: ShopRequest) -> HttpResponse:
    """A round of the place chosen, or of the whole rack."""
    chosen = request.POST.get("place", "")
    place = get_object_or_404(Place, pk=number_in(chosen) or 0) if chosen else None
    return redirect("count", counting.begin(place=place, by=request.user).pk)


def _get_count(request: ShopRequest, pk: int) -> Count:
    """Everyone who is signed in may count."""
    return get_object_or_404(Count.objects.select_related("place", "posted_by"), pk=pk)


@with_decoder
@require_safe
def count(request: ShopRequest, pk: int) -> HttpResponse:
    """How far the round is, the box for the next label, and what was seen last."""
    found = _get_count(request, pk)
    context = {
        "count": found,
        "found": counting.differences(found),
        "latest": found.lines.select_related("piece__material", "place")[:8],
        "here": _place_of(request.GET.get("here", "")),
        "places": Place.objects.all(),
        "label_origin": label_origin(request.shop),
        "key": new_key(),
    }
    return render(request, "inventory/count.html", context)


def _place_of(code: str) -> Place | None:
    """Where one stands, as its label said."""
    return Place.objects.filter(code=code).first() if code else None


@tap
@require_POST
def count_note(request: ShopRequest, pk: int) -> HttpResponse:
    """A label was seen. A place's label says where the next ones are."""
    found = _get_count(request, pk)
    seen = request.POST.get("code", "").strip()[:200]
    here = _place_of(request.POST.get("here", ""))
    if place := counting.place_with(seen):
        messages.success(request, f"You are at {place}: what is scanned now is there.")
        here = place
    else:
        differs, sentence = counting.note(count=found, code=seen, by=request.user, place=here)
        (messages.warning if differs else messages.success)(request, sentence)
    answer = redirect("count", found.pk)
    if here:
        answer["Location"] += f"?here={here.code}"
    return answer


@require_safe
def count_differences(request: ShopRequest, pk: int) -> HttpResponse:
    """What is not as the books say, each with what may be done, the likeliest chosen."""
    found = _get_count(request, pk)
    context = {"count": found, "found": counting.differences(found), "words": counting.WORDS}
    return render(request, "inventory/count_differences.html", context)


def _chosen(sent: dict[str, str]) -> dict[str, str]:
    return {name.removeprefix("do-"): do for name, do in sent.items() if name.startswith("do-")}


@require_safe
def count_check(request: ShopRequest, pk: int) -> HttpResponse:
    """What the choices would change, and the value of it, before it is posted."""
    found = _get_count(request, pk)
    chosen = _chosen(request.GET.dict())
    changes = [
        one
        for one in counting.changes(counting.differences(found), chosen)
        if one.difference.code in chosen and one.do != "leave"
    ]
    value = sum((one.value for one in changes), start=Decimal("0.00"))
    context = {
        "count": found,
        "changes": changes,
        "chosen": chosen,
        "amount": abs(value),
        "is_less": value < 0,
        "key": new_key(),
    }
    return render(request, "inventory/count_check.html", context)


@require_POST
def count_post(request: ShopRequest, pk: int) -> HttpResponse:
    """Posted, once."""
    found = _get_count(request, pk)
    made = counting.post(
        count=found, chosen=_chosen(request.POST.dict()), by=request.user, key=key_of(request)
    )
    done = sum(1 for one in made if one.do != "leave")
    messages.success(request, f"The count of {found} is posted: {done} corrected.")
    return redirect("counts")
