"""Signing in and out, the link that works once, and one's own password."""

from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shared import addresses, signing_in
from shared.access import ShopRequest
from shared.forms import PasswordForm, SignInForm
from shared.models import Person
from shared.refusal import Refused

_BY_LINK = "signed_in_by_link_at"
#: So long after signing in by a link, a new password may be set without the one that was forgotten.
FORGOTTEN_FOR = timedelta(hours=1)


def _where_next(request: HttpRequest) -> str:
    """The page someone wanted when they were asked to sign in, if it is one of ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure()):
        return wanted
    return resolve_url(settings.LOGIN_REDIRECT_URL)


@never_cache
@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    if request.method != "POST" and request.user.is_authenticated:
        return redirect(_where_next(request))
    form = SignInForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            person = signing_in.person_with_password(
                request, **form.cleaned_data, address=addresses.of_client(request)
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            login(request, person)
            return redirect(_where_next(request))
    status = 422 if form.is_bound else 200
    return render(request, "shared/sign_in.html", {"form": form, "next": _where_next(request)}, status=status)


@never_cache
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_once(request: HttpRequest, token: str) -> HttpResponse:
    """Opening the link only asks: a messenger's preview of it must not use it up."""
    if request.method != "POST":
        try:
            return render(request, "shared/sign_in_once.html", {"person": signing_in.person_with_link(token)})
        except Refused as refusal:
            return render(request, "shared/sign_in_once.html", {"sentence": str(refusal)}, status=410)
    try:
        person = signing_in.use_link(token)
    except Refused as refusal:
        return render(request, "shared/sign_in_once.html", {"sentence": str(refusal)}, status=410)
    login(request, person)
    request.session[_BY_LINK] = timezone.now().timestamp()
    if person.has_usable_password() or settings.DEMO:
        return redirect(settings.LOGIN_REDIRECT_URL)
    return redirect("password")


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    messages.success(request, "You are signed out.")
    return redirect(settings.LOGOUT_REDIRECT_URL)


def needs_the_old(request: HttpRequest, person: Person) -> bool:
    """Whether a new password needs the one in use: not where a link stood in for a forgotten one."""
    by_link_at: float = request.session.get(_BY_LINK, 0)
    is_fresh = timezone.now().timestamp() - by_link_at < FORGOTTEN_FOR.total_seconds()
    return person.has_usable_password() and not is_fresh


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def password(request: ShopRequest) -> HttpResponse:
    person = request.user
    form = PasswordForm(
        request.POST if request.method == "POST" else None,
        person=person,
        asked_for_old=needs_the_old(request, person),
    )
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "shared/password.html", {"form": form}, status=status)
    signing_in.set_password(person, form.cleaned_data["password"])
    request.session.pop(_BY_LINK, None)
    update_session_auth_hash(request, person)
    messages.success(request, "Your password is changed. Other phones that were signed in are signed out.")
    return redirect(settings.LOGIN_REDIRECT_URL)
