"""Who may do and see what. Roles are Django groups."""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import Group
from django.core.exceptions import PermissionDenied
from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponseBase

from shared.models import Person, Shop

OWNER, BUYER, BENCH = ROLES = ("owner", "buyer", "bench")

View = Callable[..., HttpResponseBase]


class ShopRequest(HttpRequest):
    """A request of someone who is signed in, with the shop's settings on it."""

    user: Person
    shop: Shop


def roles_of(person: Any) -> frozenset[str]:
    """The person's groups, read once a request. A superuser is an owner."""
    if not person.is_authenticated:
        return frozenset()
    kept = getattr(person, "_roles", None)
    if kept is None:
        groups = frozenset(group.name for group in person.groups.all())
        kept = person._roles = groups | {OWNER} if person.is_superuser else groups
    return cast("frozenset[str]", kept)


class PeopleBackend(ModelBackend):
    """Signs in by name and password, and reads who is signed in together with their roles."""

    def get_user(self, user_id: Any) -> Any:
        """The person with this key, if they still work here: one query on every page, not two."""
        has = {f"is_in_{role}": _is_in(role) for role in ROLES}
        person = Person.objects.annotate(**has).filter(pk=user_id).first()
        if person is None or not self.user_can_authenticate(person):
            return None
        held = frozenset(role for role in ROLES if getattr(person, f"is_in_{role}"))
        person._roles = held | {OWNER} if person.is_superuser else held  # type: ignore[attr-defined]
        return person


def _is_in(role: str) -> Exists:
    return Exists(Group.objects.filter(name=role, user=OuterRef("pk")))


def role_of(person: Any) -> str:
    """The person's role: the one that may most, where there are several; empty where there is none."""
    return next((role for role in ROLES if role in roles_of(person)), "")


def is_owner(person: Any) -> bool:
    """Whether settings, people and spend are theirs to see and change."""
    return OWNER in roles_of(person)


def may_buy(person: Any) -> bool:
    """Whether they may receive, price and buy."""
    return bool(roles_of(person) & {OWNER, BUYER})


def may_see_prices(person: Any) -> bool:
    """Whether a price may be on their page. The bench sees none."""
    return may_buy(person)


def _only(allowed: Callable[[Any], bool], sentence: str) -> Callable[[View], View]:
    def gate(view: View) -> View:
        @wraps(view)
        def gated(request: HttpRequest, *args: Any, **options: Any) -> HttpResponseBase:
            if not allowed(request.user):
                raise PermissionDenied(sentence)
            return view(request, *args, **options)

        return gated

    return gate


buyers_only = _only(may_buy, "Prices and buying are for the buyer and the owner.")
owners_only = _only(is_owner, "This page is for the owner.")


def for_templates(request: HttpRequest) -> dict[str, Any]:
    """What templates may ask: the shop, and what the person may see."""
    person = getattr(request, "user", None)
    if person is None or not person.is_authenticated:
        return {"shop": getattr(request, "shop", None)}
    return {
        "shop": getattr(request, "shop", None),
        "may_see_prices": may_see_prices(person),
        "may_buy": may_buy(person),
        "is_owner": is_owner(person),
    }
