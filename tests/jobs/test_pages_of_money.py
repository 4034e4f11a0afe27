"""The pages of money ask the database a few times, however much there is to show."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from inventory import books, cataloguing, handling
from inventory.putting_in import put_in_goods
from inventory.sawing import LeftOver
from jobs import buying, estimating, goods_list, making, rack_worth, spending
from jobs.models import BuyLine, Job
from jobs.spending import Asked
from shared.measure import inches
from shared.models import Shop
from shared.money import format_money
from tests.factories import (
    make_job,
    make_material,
    make_offcut,
    make_part,
    make_person,
    make_sheets,
    make_supplier,
)
from tests.inventory.test_books import on
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
        size: dict[str, Any] = {"length": inches(96), "width": inches(48)}
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


# ---- files ------------------------------------------------------------------------------------------------

#: Page, its table's file, the columns that add up (from the right), and whether the page shows their sums.
TABLES = [
    ("/jobs/{job}/cost", "/jobs/{job}/cost.csv?table=charges", [-1]),
    ("/jobs/{job}/cost", "/jobs/{job}/cost.csv?table=materials", [-4, -3, -2, -1]),
    ("/jobs/{job}/cost", "/jobs/{job}/cost.csv?table=differences", [-4, -3]),
    ("/jobs/{job}/cost", "/jobs/{job}/cost.csv?table=estimate", [-1]),
    ("/jobs/{job}/cost", "/jobs/{job}/cost.csv?table=to-buy", [-1]),
    ("/jobs/{job}/quote", "/jobs/{job}/quote.csv", [-1]),
    ("/spend", "/spend/export.csv", [-4, -3, -2, -1]),
    ("/spend/saved?first=2020-01-01", "/spend/saved.csv?first=2020-01-01", [-1]),
    ("/spend/rack", "/spend/rack.csv?table=ages", [-1]),
    ("/spend/rack/all", "/spend/rack.csv", []),
    ("/spend/rack/month", "/spend/rack.csv?table=month", []),
    ("/spend/rack/goods", "/spend/rack.csv?table=goods", [-1]),
    ("/spend/goods/{goods}", "/spend/goods/{goods}.csv", [-1]),
    ("/buying", "/buying.csv", []),
    ("/shop/books?first=2020-01-01", "/shop/books.csv?first=2020-01-01", [-2, -1]),
]


@pytest.mark.parametrize(("page", "file", "columns"), TABLES, ids=[file for _, file, _ in TABLES])
def test_every_table_comes_as_a_file_that_adds_up_to_its_page(client, by, page, file, columns):
    client.force_login(by)
    job = make_job()
    work(job, by, 2)
    named = {"job": job.number, "goods": job.goods_wanted.first().material_id}
    shown = client.get(page.format(**named)).content.decode()
    header, *rows, total = table_of(client.get(file.format(**named)))
    assert rows
    assert all(len(row) == len(header) for row in rows)
    for column in columns or [-1]:
        assert sum(Decimal(row[column] or 0) for row in rows) == Decimal(total[column])
    for column in columns:
        assert format_money(Decimal(total[column]), "USD") in shown
    xlsx = client.get(file.format(**named).replace(".csv", ".xlsx"))
    assert xlsx.content[:2] == b"PK"
    address = page.format(**named).partition("?")[0]
    assert address.startswith("/spend/rack/") or file.format(**named).partition("?")[0] in shown


def test_dead_stock_closed_periods_cuts_and_past_jobs_come_as_files(client, by):
    client.force_login(by)
    job = make_job()
    with on(timezone.localdate() - timedelta(days=500)):
        make_sheets(2, by=by, price="40.00")
        put_in_goods(material=make_material(kind="goods"), quantity=Decimal(3), value=Decimal("2.50"), by=by)
    work(job, by, 1)
    *_, total = table_of(client.get("/spend/rack.csv?table=dead&months=12"))
    assert total[-1] == "82.50"
    books.close(last_day=timezone.localdate() - timedelta(days=100), by=by)
    assert table_of(client.get("/shop/books.csv?table=closed"))[1][1] == "82.50"
    assert len(table_of(client.get("/spend/saved.csv?table=cuts"))) == 2
    compared = table_of(client.get(f"/spend/compare.csv?like={job.number}"))
    assert Decimal(compared[1][4]) == spending.total_of(Asked(job=job.number))
    assert len(table_of(client.get("/spend/compare.csv"))) == 2
    assert client.get(f"/jobs/{job.number}/cost.csv?table=x").status_code == 404


def test_what_the_shelf_carries_leads_to_the_movements_that_make_it_up(client, by):
    client.force_login(by)
    job = make_job()
    work(job, by, 2)
    assert "/spend/rack/goods" in client.get("/spend/rack").content.decode()
    shelf = client.get("/spend/rack/goods")
    assert shelf.context["total"] == rack_worth.by_age().goods > 0
    worths = 0
    for row in shelf.context["rows"]:
        page = client.get(f"/spend/goods/{row['material']}")
        assert page.context["worth"] == row["worth"] == sum(one.value for one in page.context["page"])
        worths += row["worth"]
    assert worths == rack_worth.carried() - rack_worth.by_age().pieces


@pytest.mark.parametrize("address", ["/spend/rack/goods", "/spend/goods/1", "/buying.csv", "/shop/books.csv"])
def test_the_bench_sees_none_of_it(client, address):
    client.force_login(make_person("bench"))
    assert client.get(address).status_code == 403
    job = make_job()
    for file in ("cost.csv", "quote.csv"):
        assert client.get(f"/jobs/{job.number}/{file}").status_code == 403


def table_of(page):
    assert page.status_code == 200, page.status_code
    return list(csv.reader(io.StringIO(page.content.decode("utf-8-sig"))))
