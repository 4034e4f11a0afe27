"""What tests of stock share."""

import pytest
from django.test import Client

from shared.models import Shop
from tests.factories import make_person


@pytest.fixture(autouse=True)
def a_shop_that_is_set_up(request: pytest.FixtureRequest) -> None:
    """A new shop sends its owner to its first page; where a test has a database, its shop is past that."""
    if request.node.get_closest_marker("django_db") or "db" in request.fixturenames:
        request.getfixturevalue("db")
        Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})


@pytest.fixture
def buyer(db):
    return make_person("buyer")


@pytest.fixture
def bench(db):
    return make_person("bench")


@pytest.fixture
def at_desk(buyer) -> Client:
    """A browser in which the buyer is signed in."""
    browser = Client()
    browser.force_login(buyer)
    return browser


@pytest.fixture
def at_rack(bench) -> Client:
    """A browser in which someone from the bench is signed in."""
    browser = Client()
    browser.force_login(bench)
    return browser
