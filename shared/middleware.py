"""The shop on every request, and refusals as pages."""

import zoneinfo
from collections.abc import Callable
from typing import Any

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.db import DataError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from shared.access import is_owner
from shared.refusal import Refused
from shared.shop import the_shop


def wants_json(request: HttpRequest) -> bool:
    """Whether a script asks, for what came of a tap, and no page."""
    return request.headers.get("Accept", "") == "application/json"


class SignInMiddleware(LoginRequiredMiddleware):
    """Asks who is not signed in to do so; a script is told as much, so that it keeps the taps it has."""

    def handle_no_permission(self, request: HttpRequest, view_func: Any) -> Any:
        if wants_json(request):
            return JsonResponse({"sentence": "You are signed out. Sign in again."}, status=401)
        return super().handle_no_permission(request, view_func)


GetResponse = Callable[[HttpRequest], HttpResponse]


class NoNulMiddleware:
    """Refuses a NUL, which no keyboard types and PostgreSQL can't store, where no form does: 404 in an
    address, 400 in what is asked for, and in what is sent once the database has refused it."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *view: Any) -> HttpResponse | None:
        if "\0" in request.path:
            raise Http404("No address holds a NUL.")
        return _nul_refused(request) if _holds_nul(request.GET) else None

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """PostgreSQL's refusal is a DataError, its driver's a ValueError."""
        if isinstance(error, DataError | ValueError) and _holds_nul(request.POST):
            return _nul_refused(request)
        return None


def _holds_nul(sent: QueryDict) -> bool:
    return any("\0" in text for name, values in sent.lists() for text in (name, *values))


def _nul_refused(request: HttpRequest) -> HttpResponse:
    sentence = "What was sent holds a sign that no keyboard types (a NUL). Type it anew."
    return render(request, "shared/refused.html", {"sentence": sentence}, status=400)


class ShopMiddleware:
    """Puts the shop on the request, uses its time zone, and sends a new shop's owner to its first page."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        shop = the_shop()
        request.shop = shop  # type: ignore[attr-defined]
        try:
            zone = zoneinfo.ZoneInfo(shop.time_zone)
        except (zoneinfo.ZoneInfoNotFoundError, ValueError):
            zone = zoneinfo.ZoneInfo("UTC")
        if not shop.is_set_up and request.user.is_authenticated and is_owner(request.user):
            first_run = reverse("first-run")
            if request.path not in (first_run, reverse("sign-out")) and not request.path.startswith(
                "/static"
            ):
                return redirect(first_run)
        with timezone.override(zone):
            return self.get_response(request)


class RefusalMiddleware:
    """A refusal no view has shown in a form of its own becomes a page with its sentence and the way back."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """409 with the sentence; every other error goes its way."""
        if not isinstance(error, Refused):
            return None
        return render(request, "shared/refused.html", {"sentence": str(error)}, status=409)
