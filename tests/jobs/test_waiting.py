"""What the first page says waits to be done."""

from decimal import Decimal

import pytest

from jobs import holding, making, waiting
from jobs.models import BuyLine, Job
from tests.factories import make_job, make_material, make_part, make_person, make_sheets
from tests.jobs.layouts_of_jobs import accepted_layout

pytestmark = pytest.mark.django_db


def make_wait(count: int) -> None:
    """A job whose sheets are held, as many again pulled to be cut, and as many to be bought."""
    by, ply, job = make_person(), make_material(), make_job(state=Job.State.MAKING)
    for sheet in make_sheets(count, by=by, material=ply):
        holding.hold(piece=sheet, job=job, by=by)
    part = make_part(job, ply, length="30", width="10", quantity=2 * count)
    for sheet in make_sheets(count, by=by, material=ply):
        accepted_layout(sheet, part, by)
        making.pull(piece=sheet, by=by)
    for _ in range(count):
        BuyLine.objects.create(job=job, material=ply, quantity=1, unit="sheet", price=Decimal("92.00"))


def test_the_first_of_what_waits_is_shown_and_all_of_it_counted():
    make_wait(waiting.MOST_SHOWN + 2)
    found = waiting.for_the_shop(with_buying=True)
    assert (found.to_pull_count, found.to_cut_count, found.to_receive_count) == (14, 14, 14)
    assert [len(rows) for rows in (found.to_pull, found.to_cut, found.to_receive)] == [12, 12, 12]
    assert found.labels == 28


def test_nothing_waits_in_an_empty_shop():
    found = waiting.for_the_shop(with_buying=True)
    assert found.is_nothing
    assert (found.to_pull_count, found.to_cut_count, found.to_receive_count) == (0, 0, 0)


def test_the_bench_does_not_see_what_is_to_be_bought():
    make_wait(1)
    found = waiting.for_the_shop(with_buying=False)
    assert (found.to_receive, found.to_receive_count, found.to_pull_count) == ([], 0, 1)


@pytest.mark.parametrize("count", [3, 30])
def test_the_first_page_asks_as_often_whatever_waits(count, django_assert_num_queries):
    make_wait(count)
    with django_assert_num_queries(6):
        waiting.for_the_shop(with_buying=True)
