"""Who works in the shop: seen and changed by the owner."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shared import addresses, qr, signing_in
from shared import people as staff
from shared.access import ShopRequest, owners_only, role_of
from shared.forms import NewPersonForm, PersonForm
from shared.models import Person
from shared.refusal import Refused


@owners_only
@require_safe
def people(request: ShopRequest) -> HttpResponse:
    everyone = Person.objects.prefetch_related("groups").order_by("-is_active", "username")
    rows = [(someone, role_of(someone)) for someone in everyone]
    return render(request, "shared/people.html", {"rows": rows})


def _show_link(request: ShopRequest, person: Person) -> HttpResponse:
    """The page with a new link, which is never shown again."""
    token = signing_in.make_link(person)
    link = addresses.for_links(request, request.shop) + reverse("sign-in-once", args=[token])
    context = {"person": person, "link": link, "qr": qr.on_screen(link)}
    return render(request, "shared/person_link.html", context)


@never_cache
@owners_only
@require_http_methods(["GET", "HEAD", "POST"])
def person_new(request: ShopRequest) -> HttpResponse:
    form = NewPersonForm(request.POST if request.method == "POST" else None, initial={"role": "bench"})
    if form.is_valid():
        try:
            return _show_link(request, staff.add_person(**form.cleaned_data))
        except Refused as refusal:
            form.add_error("username", str(refusal))
    return render(request, "shared/person.html", {"form": form}, status=422 if form.is_bound else 200)


@owners_only
@require_http_methods(["GET", "HEAD", "POST"])
def person(request: ShopRequest, pk: int) -> HttpResponse:
    someone = get_object_or_404(Person, pk=pk)
    form = PersonForm(
        request.POST if request.method == "POST" else None,
        initial={"name": someone.get_full_name(), "role": role_of(someone)},
    )
    if form.is_valid():
        try:
            staff.change_person(someone, **form.cleaned_data)
        except Refused as refusal:
            form.add_error("role", str(refusal))
        else:
            messages.success(request, f"{someone.shown_name}: saved.")
            return redirect("people")
    context = {"form": form, "person": someone}
    return render(request, "shared/person.html", context, status=422 if form.is_bound else 200)


@never_cache
@owners_only
@require_POST
def person_link(request: ShopRequest, pk: int) -> HttpResponse:
    return _show_link(request, get_object_or_404(Person, pk=pk))


@owners_only
@require_POST
def person_leaves(request: ShopRequest, pk: int) -> HttpResponse:
    someone = get_object_or_404(Person, pk=pk)
    staff.let_go(someone)
    messages.success(request, f"{someone.shown_name} can't sign in any more. What they did stays theirs.")
    return redirect("people")


@owners_only
@require_POST
def person_returns(request: ShopRequest, pk: int) -> HttpResponse:
    someone = get_object_or_404(Person, pk=pk)
    staff.bring_back(someone)
    messages.success(request, f"{someone.shown_name} can work here again. Give them a link to sign in.")
    return redirect("people")
