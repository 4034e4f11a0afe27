"""The plan's pages ask as often for many layouts as for one."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Plan
from shared.models import Person
from tests.factories import make_job, make_material, make_part, make_sheets
from tests.jobs.refusing import accepted_plan


@pytest.fixture
def desk(owner: Person) -> Client:
    desk = Client()
    desk.force_login(owner)
    return desk


def plan_of_sheets(count: int, by: Person) -> Plan:
    """An accepted plan that takes so many sheets from the rack, one part from each."""
    material, job = make_material(), make_job()
    make_sheets(count, by=by, material=material)
    make_part(job, material, length="90", width="44", quantity=count)
    plan = accepted_plan(job, by)
    assert plan.layouts.count() == count
    return plan


def queries(desk: Client, address: str) -> int:
    desk.get(address)
    with CaptureQueriesContext(connection) as asked:
        assert desk.get(address).status_code == 200
    return len(asked)


@pytest.mark.parametrize("name", ["plan", "plan-pdf", "saw", "job", "cost", "quote"])
def test_a_page_of_a_plan_asks_as_often_whatever_its_size(desk, owner, name):
    few, many = (plan_of_sheets(count, owner).job.number for count in (1, 7))
    assert queries(desk, reverse(name, args=[many])) <= queries(desk, reverse(name, args=[few]))
