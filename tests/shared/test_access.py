"""Who may do and see what."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from shared import access
from shared.models import Person
from shared.shop import set_up, the_shop
from tests.factories import make_person

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("role", "is_owner", "may_buy", "may_see_prices"),
    [("owner", True, True, True), ("buyer", False, True, True), ("bench", False, False, False)],
)
def test_what_a_role_may(role, is_owner, may_buy, may_see_prices):
    person = make_person(role)
    found = (access.is_owner(person), access.may_buy(person), access.may_see_prices(person))
    assert found == (is_owner, may_buy, may_see_prices)


def test_a_superuser_is_an_owner():
    assert access.is_owner(Person.objects.create_superuser("root", password="bench dog 42"))


def test_nobody_and_who_has_no_role_may_nothing():
    for person in (AnonymousUser(), Person.objects.create_user("newcomer")):
        assert not access.may_see_prices(person)
        assert access.role_of(person) == ""


def _patterns(resolver: URLResolver):
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from _patterns(entry)
        else:
            yield entry


def _address(pattern: URLPattern) -> str:
    values = {
        name: _EXAMPLES.get(getattr(kind, "regex", ""), "1")
        for name, kind in pattern.pattern.converters.items()
    }
    if not values and pattern.pattern.regex.groupindex:
        values = dict.fromkeys(pattern.pattern.regex.groupindex, "K7M2Q4")
    return reverse(pattern.name, kwargs=values)


_EXAMPLES = {"[0-9]+": "1", "[^/]+": "K7M2Q4"}
OPEN_TO_ALL = {"sign-in", "sign-in-once"}
# What a browser fetches without its cookies; it holds nothing of the shop.
WITHOUT_THE_SHOP = {"service-worker", "manifest", "offline"}


@pytest.mark.parametrize("pattern", list(_patterns(get_resolver())), ids=lambda pattern: pattern.name)
def test_every_page_asks_who_is_not_signed_in_to_sign_in(pattern):
    set_up(the_shop(), {"unit": "in", "name": "Two Benches"})
    client = Client()
    for answer in (client.get(_address(pattern)), client.post(_address(pattern))):
        if pattern.name in OPEN_TO_ALL:
            assert answer.status_code in (200, 410, 422)
        elif pattern.name in WITHOUT_THE_SHOP:
            assert answer.status_code in (200, 405)
            assert "Two Benches" not in answer.content.decode()
        else:
            assert answer.status_code in (302, 401), pattern.name
            assert answer.status_code == 401 or answer.url.startswith(reverse("sign-in"))
