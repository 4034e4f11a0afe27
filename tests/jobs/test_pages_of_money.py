"""The pages of money ask the database a few times, however much there is to show."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import cataloguing, handling
from inventory.receiving import put_in_goods
from inventory.sawing import LeftOver
from jobs import buying, estimating, goods_list, making
from jobs.models import BuyLine, Job
from shared.measure import inches
from shared.models import Shop
from tests.factories import (
    make_job,
    make_material,
    make_offcut,
    make_part,
    make_person,
    make_sheets,
    make_supplier,
)
from tests.jobs.layouts_of_jobs import accepted_layout

pytestmark = pytest.mark.django_db

#: Page and how often it may ask, the session, the person and the shop in it.
PAGES = {
    "/jobs/{job}/cost": 17,
    "/jobs/{plain}/cost": 11,
    "/jobs/{job}/quote": 14,
    "/spend": 14,
    "/spend/movements": 14,
    "/spend/rack": 10,
    "/spend/rack/month": 8,
    "/spend/prices?material={material}": 8,
    "/spend/compare?like={job}": 8,
    "/shop/books?first=2020-01-01": 8,
    "/buying": 8,
    "/": 9,
}


@pytest.fixture
def by():
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    return make_person()


def work(job: Job, by, count: int) -> None:
    """Sheets cut and waiting, a part spoiled, goods had and missing, sheets bought, come and still to come, one
    sheet sold: so many of each."""
    for number in range(count):
        ply, hinges, yard = make_material(), make_material(kind="goods"), make_supplier()
        size = {"length": inches(96), "width": inches(48)}
        for material, of_it in ((ply, size), (hinges, {})):
            cataloguing.add_offer(
                material=material, supplier=yard, price=Decimal(9), seen_on=date(2026, 11, 1), **of_it
            )
        part = make_part(job, ply, name=f"part {number}", length="30", width="10", quantity=4)
        done, _, sold = make_sheets(3, by=by, material=ply)
        put_in_goods(material=hinges, quantity=Decimal(3), value=Decimal("2.00"), by=by)
        goods_list.put(job=job, material=hinges, quantity=Decimal(9))
        making.issue_goods(job=job, material=hinges, quantity=Decimal(2), by=by)
        for _ in range(2):
            BuyLine.objects.create(job=job, material=ply, quantity=2, unit="sheet", price=Decimal(90), **size)
        line = BuyLine.objects.filter(job=job).latest("pk")
        came = [buying.Arrived(line, Decimal(1), Decimal(80))]
        buying.receive(arrived=came, supplier=yard, number="1", date=date(2026, 11, 20), by=by)
        estimating.freeze_anew(job)
        cut = accepted_layout(done, part, by)
        making.cut_layout(layout=cut, left=[LeftOver(inches(12), inches(10))], by=by)
        making.spoil(part=part, count=1, by=by)
        making.cut_free(
            piece=make_offcut(by=by, material=ply),
            taken=[(1, inches(20), inches(20))],
            left=[],
            by=by,
            job=job,
        )
        handling.sell(piece=sold, price=Decimal(50), by=by)


@pytest.mark.parametrize("address", PAGES)
def test_a_page_of_money_asks_as_often_for_much_as_for_little(client, by, address):
    client.force_login(by)
    job, plain = make_job(), make_job()
    making.cut_free(piece=make_offcut(by=by), taken=[], left=[], by=by, job=plain)
    counts = []
    for more in (1, 4):
        work(job, by, more)
        where = address.format(job=job.number, plain=plain.number, material=job.parts.first().material_id)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(where).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1] <= PAGES[address]
