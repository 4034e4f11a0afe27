"""The shop's settings, and a new shop's first page."""

from copy import copy

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.db import connection, transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from shared import shop as settings_of_the_shop
from shared import signing_in
from shared.access import ShopRequest, owners_only
from shared.fields import ShopModelForm
from shared.forms import PasswordForm
from shared.settings_forms import GROUPS, FirstRunForm


def _forms(request: ShopRequest, sent: str) -> dict[str, ShopModelForm]:
    """The form of each group; the one that was sent holds what was typed."""
    return {
        group: form(
            request.POST if group == sent else None,
            shop=request.shop,
            instance=copy(request.shop),
            auto_id=f"{group}-%s",
        )
        for group, form in GROUPS.items()
    }


@owners_only
@require_http_methods(["GET", "HEAD", "POST"])
def shop(request: ShopRequest) -> HttpResponse:
    sent = request.POST.get("group", "")
    forms = _forms(request, sent)
    form = forms.get(sent)
    if form is None or not form.is_valid():
        left = [(group, forms[group]) for group in ("shop", "saw")]
        right = [(group, form_) for group, form_ in forms.items() if group not in ("shop", "saw")]
        context = {"columns": [left, right], "sent": form, "database": connection.vendor}
        return render(request, "shared/shop.html", context, status=422 if request.method == "POST" else 200)
    changed = settings_of_the_shop.change_settings(request.shop, form.cleaned_data)
    title = type(form).title  # type: ignore[attr-defined]
    messages.success(request, f"{title}: saved." if changed else f"{title}: nothing was different.")
    return redirect(f"{reverse('shop')}#{sent}")


def _problems_of(form: PasswordForm | None) -> list[dict[str, str]]:
    """What is wrong with the password, for the summary of the page's other form."""
    return [
        {"href": f"#{field.id_for_label}", "text": f"{field.label}: {error}"}
        for field in form or ()
        for error in field.errors
    ]


@never_cache
@sensitive_post_parameters("password", "again")
@owners_only
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: ShopRequest) -> HttpResponse:
    if request.shop.is_set_up:
        return redirect("shop")
    person, data = request.user, request.POST if request.method == "POST" else None
    form = FirstRunForm(data, shop=request.shop, instance=copy(request.shop))
    password = (
        None if person.has_usable_password() else PasswordForm(data, person=person, asked_for_old=False)
    )
    if not form.is_valid() or (password and not password.is_valid()):
        context = {"form": form, "password": password, "problems": _problems_of(password)}
        return render(request, "shared/first_run.html", context, status=200 if data is None else 422)
    with transaction.atomic():
        settings_of_the_shop.set_up(request.shop, form.cleaned_data)
        if password:
            signing_in.set_password(person, password.cleaned_data["password"])
    update_session_auth_hash(request, person)
    messages.success(request, f"{form.cleaned_data['name']} is open. All of this can be changed in Settings.")
    return redirect("home")
