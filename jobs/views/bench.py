"""At the rack: a piece is pulled, cut, put back, moved, lost and found."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from inventory import handling
from inventory.models import Movement, Piece, Place, State
from inventory.models.movements import PROMISES
from inventory.views.tapping import refuse_form, tap
from jobs import drawings, holding, making, undoing
from jobs.forms.sawing import FreeCutForm
from jobs.models import Job
from jobs.views.getting import get_piece_for
from shared import codes
from shared.access import ShopRequest
from shared.chosen import number_in
from shared.refusal import Refused
from shared.taps import key_of, new_key


@require_safe
def piece(request: ShopRequest, code: str) -> HttpResponse:
    """What it is, how big, whose, where; the likeliest next step first; its story."""
    return piece_page(request, get_piece_for(request.user, code))


def piece_page(request: ShopRequest, found: Any) -> HttpResponse:
    """The page of a piece that `scanning.pieces` gave; it asks only for what there is of it."""
    story = list(found.movements.with_all_shown().order_by("id"))
    context = {
        "piece": found,
        "drawing": drawings.of_piece(found, request.shop),
        "story": story,
        "last": _can_be_undone(story),
        "others": found.still_one_with if found.has_others else (),
        "offcuts": ()
        if found.is_in_shop
        else found.offcuts.select_related("place").exclude(state=State.VOID),
        "photos": found.photos.select_related("by") if found.has_photos else (),
        "places": Place.objects.all(),
        "key": new_key(),
    }
    return render(request, "jobs/piece.html", context)


def _can_be_undone(story: list[Movement]) -> Movement | None:
    """The last thing that stands, if it was done to this piece and not to the one it was left from."""
    standing = [one for one in story if one.verb not in PROMISES and one.verb != "undo" and not one.is_undone]
    return standing[-1] if standing and not standing[-1].part_of_id else None


@tap
@require_POST
def pull(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    done = making.pull(piece=found, by=request.user, key=key_of(request))
    messages.success(request, f"{codes.grouped(found.code)} is pulled.{_along(done)}")
    back = request.POST.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return (
        redirect(back) if back.startswith(("/jobs/", "/scan")) and is_ours else redirect("piece", found.code)
    )


def _along(done: Movement) -> str:
    """What was carried with a piece."""
    rows = done.others.filter(piece__isnull=False).select_related("piece").order_by("id")
    others = [codes.grouped(row.piece.code) for row in rows if row.piece]
    return (
        f" With it went {' and '.join(others)}: one piece of wood until they are sawn apart."
        if others
        else ""
    )


@tap
@require_POST
def put_back(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    done = handling.put_back(piece=found, place=_place(request), by=request.user, key=key_of(request))
    where = f" in {done.to_place}" if done.to_place else ""
    messages.success(request, f"{codes.grouped(found.code)} is back on the rack{where}.{_along(done)}")
    return redirect("piece", found.code)


@tap
@require_POST
def move(request: ShopRequest, code: str) -> HttpResponse:
    found, place = get_piece_for(request.user, code), _place(request)
    if place is None:
        raise Refused("Choose the place it goes to.")
    done = handling.move(piece=found, place=place, by=request.user, key=key_of(request))
    messages.success(request, f"{codes.grouped(found.code)} is in {place} now.{_along(done)}")
    return redirect("piece", found.code)


def _place(request: ShopRequest) -> Place | None:
    return Place.objects.filter(pk=number_in(request.POST.get("place", "")) or 0).first()


@tap
@require_POST
def scrap(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    handling.scrap(piece=found, by=request.user, key=key_of(request), why=request.POST.get("why", ""))
    messages.success(request, f"{codes.grouped(found.code)} is scrapped.")
    return redirect("piece", found.code)


@tap
@require_POST
def lose(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    handling.lose(piece=found, by=request.user, key=key_of(request))
    messages.success(request, f"{codes.grouped(found.code)} is marked lost.")
    return redirect("piece", found.code)


@tap
@require_POST
def find(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    handling.find(piece=found, place=_place(request), by=request.user, key=key_of(request))
    messages.success(request, f"{codes.grouped(found.code)} is found.")
    return redirect("piece", found.code)


@require_safe
def hold_for(request: ShopRequest, code: str) -> HttpResponse:
    """Which job a piece is to be held for."""
    found = get_piece_for(request.user, code)
    context = {"piece": found, "open_jobs": Job.objects.open(), "key": new_key()}
    return render(request, "jobs/hold.html", context)


@tap
@require_POST
def hold(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    job = get_object_or_404(Job, number=request.POST.get("job", ""))
    holding.hold(piece=found, job=job, by=request.user, key=key_of(request))
    messages.success(request, f"{codes.grouped(found.code)} is held for {job}.")
    return redirect("piece", found.code)


@tap
@require_POST
def release(request: ShopRequest, code: str) -> HttpResponse:
    found = get_piece_for(request.user, code)
    number = request.POST.get("job", "")
    holding.release(piece=found, by=request.user, key=key_of(request), job_number=number)
    messages.success(request, f"{codes.grouped(found.code)} is free.")
    return redirect("piece", found.code)


@tap
def cut(request: ShopRequest, code: str) -> HttpResponse:
    """Someone just needs a piece: what was taken, what is left, for which job or none."""
    found = get_piece_for(request.user, code)
    form = FreeCutForm(request.POST or None, shop=request.shop, piece=found)
    if request.method == "POST" and form.is_valid():
        try:
            done = making.cut_free(piece=found, by=request.user, key=key_of(request), **form.asked())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            _say_whose_flaws_are_open(request, form, done.offcuts)
            return _after_cut(request, found, done.offcuts)
    refuse_form(request, form)
    context = {
        "piece": found,
        "form": form,
        "drawing": drawings.of_piece(found, request.shop),
        "key": key_of(request) or new_key(),
    }
    return render(request, "jobs/cut.html", context, status=422 if form.errors else 200)


def _say_whose_flaws_are_open(request: ShopRequest, form: FreeCutForm, offcuts: list[Piece]) -> None:
    """Offcuts of a flawed piece of which nobody said where they lay."""
    left = form.asked()["left"] if form.asks_corners else []
    unsaid = [piece for one, piece in zip(left, offcuts, strict=False) if one.began is None]
    if unsaid:
        names = ", ".join(codes.grouped(piece.code) for piece in unsaid)
        messages.warning(request, f"Mark the flaws on {names}: it was not said where they lay.")


def _after_cut(request: ShopRequest, found: Piece, offcuts: list[Piece]) -> HttpResponse:
    labels = ", ".join(codes.grouped(offcut.code) for offcut in offcuts)
    left = f" New labels wait to be printed: {labels}." if offcuts else ""
    messages.success(request, f"{codes.grouped(found.code)} is cut.{left}{_sawn_off(found)}")
    return redirect("piece", found.code)


def _sawn_off(cut: Any) -> str:
    """What was one piece of wood with a piece before it was cut, and was pulled with it."""
    others = cut.still_one_with if cut.has_others else []
    pulled = [codes.grouped(other.code) for other in others if other.state == State.PULLED]
    return f" Put back what was sawn off it: {' and '.join(pulled)}." if pulled else ""


@require_POST
def undo(request: ShopRequest, pk: int) -> HttpResponse:
    movement = get_object_or_404(Movement.objects.with_all_shown(), pk=pk)
    undoing.undo(movement=movement, by=request.user, key=key_of(request))
    messages.success(request, f"Undone: {movement.get_verb_display()}.")
    if movement.piece:
        return redirect("piece", movement.piece.code)
    return redirect("cost", movement.job_number) if movement.job_number else redirect("stock")
