"""What tests of stock share."""

import pytest

from shared.models import Shop


@pytest.fixture(autouse=True)
def a_shop_that_is_set_up(request: pytest.FixtureRequest) -> None:
    """A new shop sends its owner to its first page; where a test has a database, its shop is past that."""
    if request.node.get_closest_marker("django_db") or "db" in request.fixturenames:
        request.getfixturevalue("db")
        Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
