"""What a phone gets for a tap that it may have kept for hours: a status and one sentence, as JSON."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.forms import BaseForm
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.utils import timezone

from inventory.models import Movement, Verb
from shared import codes
from shared.middleware import wants_json
from shared.refusal import Refused
from shared.taps import key_of


class _FormRefused(Refused):
    """A form that was filled in wrongly: whoever is still at it sees its page instead."""


View = Callable[..., HttpResponseBase]


def tap(view: View) -> View:
    """Answers as the view does; or, where JSON is asked for, with what came of the tap.

    `ok` true: it is done (or was, when it was first sent); false: refused for good, with what happened. An
    answer without `ok` (a fault, a page to sign in) settles nothing: the phone keeps the tap.
    """

    @wraps(view)
    def answered(request: HttpRequest, *args: Any, **options: Any) -> HttpResponseBase:
        if request.method != "POST" or not wants_json(request):
            return view(request, *args, **options)
        if done := _already(request):
            return _said(True, _what_was_done(done))
        try:
            answer = view(request, *args, **options)
        except Refused as refusal:
            status = 422 if isinstance(refusal, _FormRefused) else 409
            return _said(False, f"{refusal}{_what_happened(options.get('code', ''))}", status)
        except Http404:
            return _said(False, "This is not here any more.", 404)
        except PermissionDenied as denied:
            return _said(False, str(denied), 403)
        told = list(messages.get_messages(request))
        if answer.status_code == 302:
            kind = "careful" if any(one.level >= messages.WARNING for one in told) else "good"
            return _said(True, " ".join(map(str, told)), next=answer["Location"], kind=kind)
        return answer

    return answered


def refuse_form(request: HttpRequest, form: BaseForm) -> None:
    """Where JSON is asked for, what is wrong with a form is a sentence instead of a page."""
    if form.errors and wants_json(request):
        raise _FormRefused(" ".join(str(error) for errors in form.errors.values() for error in errors))


def _said(ok: bool, sentence: str, status: int = 200, **others: str) -> HttpResponse:
    return JsonResponse({"ok": ok, "sentence": sentence, **others}, status=status)


def _already(request: HttpRequest) -> Movement | None:
    key = key_of(request)
    sent = Movement.objects.filter(by=request.user.pk, key=key).select_related("piece")
    return sent.first() if key else None


def _what_was_done(movement: Movement) -> str:
    """For an answer that got lost: the labels of what a cut left are needed still."""
    sentence = f"{codes.grouped(movement.piece.code) if movement.piece else 'It'} is "
    sentence += f"{movement.get_verb_display()}."
    left = movement.others.filter(verb=Verb.LEAVE).select_related("piece").order_by("id")
    labels = ", ".join(codes.grouped(row.piece.code) for row in left if row.piece)
    return f"{sentence} Write these on what is left: {labels}." if labels else sentence


def _what_happened(code: str) -> str:
    """The last thing that was done to the piece, by whom and when."""
    last = Movement.objects.filter(piece__code=code).select_related("by").order_by("-id").first()
    if last is None:
        return ""
    on = timezone.localtime(last.at)
    return f" Last it was {last.get_verb_display()} by {last.by.shown_name}, {on.day} {on:%b, %H:%M}."
