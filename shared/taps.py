"""A tap's key: made when a form is shown, so that the same tap sent twice counts once."""

import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from shared.models import Person, SentForm

LONGEST_KEY = 64


def new_key() -> str:
    """A key no other tap has."""
    return uuid.uuid4().hex


def key_of(request: HttpRequest) -> str:
    """The key the form was shown with, or none."""
    return request.POST.get("key", "")[:LONGEST_KEY]


def counted_once(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A view whose form, sent again with the same key, leads where it led the first time and does no more.

    For what leaves no movement, whose key the ledger would know. Done is what the view answers by a redirect;
    one person's forms wait for one another, so that of two sent at once the second sees what the first did.
    """

    @wraps(view)
    def counted(request: Any, *args: Any, **options: Any) -> HttpResponse:
        key = key_of(request) if request.method == "POST" else ""
        if not key:
            return view(request, *args, **options)
        with transaction.atomic():
            list(Person.objects.select_for_update(no_key=True).filter(pk=request.user.pk).values_list("pk"))
            if done := SentForm.objects.filter(by=request.user, key=key).first():
                return redirect(done.led_to)
            answer = view(request, *args, **options)
            if answer.status_code == 302:
                SentForm.objects.create(by=request.user, key=key, led_to=answer["Location"])
            return answer

    return counted
