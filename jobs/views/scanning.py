"""A code is scanned or typed: one address for pieces, places, parts and shelves of goods."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST, require_safe

from inventory.models import Material, Movement, Piece, Place
from inventory.views.tapping import tap
from jobs import scanning, swapping
from jobs.models import Job, Layout, Part
from jobs.views import bench
from jobs.views.getting import get_job_for, get_piece_for
from shared import codes
from shared.access import ShopRequest
from shared.scanning import label_origin, with_decoder
from shared.taps import key_of, new_key


@with_decoder
@require_safe
def scan(request: ShopRequest) -> HttpResponse:
    """The camera, a box for a code, and what was moved last; for a job, what is to be pulled for it."""
    return _scan_page(request)


def _scan_page(request: ShopRequest, status: int = 200, **said: str) -> HttpResponse:
    moved = Movement.objects.main().filter(by=request.user, piece__isnull=False)
    job = Job.objects.filter(number=request.GET.get("job", "")).first()
    context = {
        "latest": moved.with_all_shown()[:5],
        "label_origin": label_origin(request.shop),
        "job": job,
        "to_pull": scanning.to_pull(job) if job else [],
        **said,
    }
    return render(request, "jobs/scan.html", context, status=status)


@with_decoder
@require_GET
def scan_find(request: ShopRequest) -> HttpResponse:
    """What was typed or scanned, opened; words go to the stock page's search."""
    text = request.GET.get("code", "").strip()[:200]
    try:
        return redirect("scanned", codes.normalise(text))
    except codes.NotACode as error:
        if any(letter.isdigit() for letter in text) and " " not in text:
            return _scan_page(request, 404, typed=text, sentence=str(error))
    return redirect(f"{reverse('stock')}?{urlencode({'q': text})}")


@with_decoder
@require_safe
def scanned(request: ShopRequest, code: str) -> HttpResponse:
    """What a label's QR opens: a piece's page, a place's stock, a part of a job, a shelf's goods."""
    found, sentence = _what_has(code)
    if isinstance(found, Piece):
        return bench.piece_page(request, found)
    if isinstance(found, Place):
        return redirect(f"{reverse('stock')}?place={found.pk}")
    if isinstance(found, Part):
        return redirect("part", found.job.number, found.pk)
    if isinstance(found, Material):
        return redirect("shelf" if found.is_goods else "material", found.pk)
    return _scan_page(request, 404, typed=code[:20], sentence=sentence)


def _what_has(text: str) -> tuple[scanning.Thing | None, str]:
    """The thing with this code; or None and why."""
    try:
        code = codes.parse_code(text)
    except codes.NotACode as error:
        return None, str(error)
    if found := scanning.thing_with(code):
        return found, ""
    return None, f"No label here has the code {codes.grouped(code)}. Was it printed by another shop?"


@require_safe
def scan_part(request: ShopRequest) -> HttpResponse:
    """The same as a part of the scan page: what it is, how big, where, whose, and its likeliest next step."""
    found, sentence = _what_has(request.GET.get("code", "").strip()[:300])
    if isinstance(found, Piece):
        return _piece_part(request, found)
    if isinstance(found, Place):
        return _place_part(request, found)
    if found is None:
        return render(request, "jobs/_scan_unknown.html", {"sentence": sentence}, status=404)
    return render(request, "jobs/_scan_other.html", {"thing": found, "shop": request.shop})


def _piece_part(request: ShopRequest, piece: Piece) -> HttpResponse:
    job = Job.objects.filter(number=request.GET.get("job", "")).first()
    context = {
        "piece": piece,
        "next": scanning.next_step(piece),
        "round": scanning.in_round(piece, job),
        "key": new_key(),
    }
    return render(request, "jobs/_scan_piece.html", context)


@tap
@require_POST
def cut_from(request: ShopRequest, number: str, pk: int, code: str) -> HttpResponse:
    """A layout is cut from the scanned piece instead of the one its plan names."""
    job = get_job_for(request.user, number)
    layout = get_object_or_404(Layout.objects.select_related("piece"), pk=pk, plan__job=job)
    left, taken = layout.piece, get_piece_for(request.user, code)
    swapping.swap(layout=layout, piece=taken, by=request.user, key=key_of(request))
    free = f", and {codes.grouped(left.code)} is free. Scan that to change back" if left else ""
    messages.success(request, f"{codes.grouped(taken.code)} is for {job.number} now{free}.")
    return redirect(f"{reverse('scan')}?{urlencode({'job': job.number})}")


def _place_part(request: ShopRequest, place: Place) -> HttpResponse:
    """A place scanned after a piece is where that piece goes."""
    before = Piece.objects.with_all_shown().filter(code=request.GET.get("after", "")).first()
    context = {"place": place, "on_rack": place.pieces.count(), "piece": before, "key": new_key()}
    return render(request, "jobs/_scan_place.html", context)
