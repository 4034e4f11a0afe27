"""Pages of long lists."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Species
from shared.paging import CappedPaginator

pytestmark = pytest.mark.django_db


class AtMostFive(CappedPaginator):
    MOST = 5


@pytest.fixture
def woods():
    Species.objects.all().delete()
    Species.objects.bulk_create(Species(name=f"wood {number}") for number in range(9))
    return Species.objects.order_by("name")


def test_a_list_that_is_not_long_is_counted(woods):
    pages = CappedPaginator(woods, 4)
    assert (pages.count, pages.count_text, pages.num_pages, pages.is_capped) == (9, "9", 3, False)


def test_a_list_of_exactly_the_most_is_not_cut_off(woods):
    assert not AtMostFive(woods[:5].model.objects.filter(name__lt="wood 5"), 2).is_capped


def test_a_longer_list_is_counted_and_shown_up_to_the_most(woods):
    pages = AtMostFive(woods, 2)
    assert (pages.count, pages.count_text, pages.num_pages) == (5, "more than 5", 3)
    assert [wood.name for wood in pages.page(1)] == ["wood 0", "wood 1"]
    assert [wood.name for wood in pages.page(3)] == ["wood 4"]


def test_counting_stops_one_beyond_the_most(woods):
    with CaptureQueriesContext(connection) as asked:
        assert AtMostFive(woods, 2).is_capped
    assert "LIMIT 6" in asked[0]["sql"]
    assert "ORDER BY" not in asked[0]["sql"]
