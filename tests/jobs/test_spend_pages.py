"""Spend: every figure is what the movements behind it add up to, on the page, behind it and in its file."""

import csv
import io
from contextlib import suppress
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory import cataloguing, goods, sawing
from inventory.models import Movement, Piece, Species
from inventory.putting_in import put_in_goods
from jobs import comparing, making, prices, rack_worth, spending, undoing
from jobs.models import Charge, Job
from jobs.spending import GROUPS, NONE, Asked
from shared.measure import inches
from shared.models import Shop
from shared.refusal import Refused
from tests.factories import (
    make_job,
    make_material,
    make_offcut,
    make_part,
    make_person,
    make_sheet,
    make_sheets,
    make_supplier,
)
from tests.inventory.test_books import on

pytestmark = pytest.mark.django_db
NOTHING = Decimal("0.00")


@pytest.fixture
def by():
    return make_person()


@pytest.fixture
def desk(client, by):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(by)
    return client


def cut(piece, job, by, left="30"):
    offcuts = [sawing.LeftOver(inches(left), inches(40))] if left else []
    return making.cut_free(piece=piece, taken=[(1, inches(20), inches(20))], left=offcuts, by=by, job=job)


def table_of(page):
    return list(csv.reader(io.StringIO(page.content.decode("utf-8-sig"))))


def test_an_offcut_is_spend_with_whom_its_sheet_was_bought_from(by):
    yard, job = make_supplier("Ash Yard"), make_job()
    sheet = make_sheet(by=by, supplier=yard, price="90.00")
    offcut = cut(sheet, make_job(), by).offcuts[0]
    smaller = cut(offcut, make_job(), by, left="20").offcuts[0]
    cut(smaller, job, by, left="")
    rows = spending.spend(Asked(group="supplier")).rows
    assert [(row.label, row.amount) for row in rows] == [("Ash Yard", Decimal("90.00"))]
    of_it = Asked(supplier=str(yard.pk), job=job.number)
    assert spending.total_of(of_it) == smaller.value


def test_what_was_put_in_has_no_supplier_and_a_shop_job_no_client(by):
    job = make_job()
    job.client = None
    job.save()
    cut(make_offcut(by=by, length="40", width="40", value="8.00"), job, by, left="")
    for group in ("client", "supplier", "species"):
        (row,) = spending.spend(Asked(group=group)).rows
        assert (row.label, row.amount, getattr(row.asked, group)) == (None, 8, NONE)
        assert spending.total_of(row.asked) == 8


def test_species_are_those_of_the_material(by):
    ash = make_material(species=Species.objects.create(name="Test ash"))
    cut(make_sheet(by=by, material=ash, price="50.00"), make_job(), by, left="")
    (row,) = spending.spend(Asked(group="species")).rows
    assert (row.label, row.amount) == ("Test ash", 50)


def test_months_are_those_of_the_movements_and_stay_within_the_days_asked_for(by):
    job = make_job()
    sheets = make_sheets(3, by=by, price="10.00")
    for sheet, day in zip(sheets, [date(2026, 8, 31), date(2026, 9, 1), date(2026, 10, 2)], strict=True):
        with on(day):
            cut(sheet, job, by, left="")
    asked = Asked(group="month", first=date(2026, 8, 31), last=date(2026, 9, 15))
    rows = spending.spend(asked).rows
    assert [(row.asked.first, row.asked.last, row.amount) for row in rows] == [
        (date(2026, 9, 1), date(2026, 9, 15), 10),
        (date(2026, 8, 31), date(2026, 8, 31), 10),
    ]


def test_offcuts_save_what_their_parts_would_cost_to_buy_today(by):
    ply = make_material()
    cataloguing.add_offer(
        material=ply,
        supplier=make_supplier(),
        price=Decimal("96.00"),
        seen_on=date(2026, 11, 1),
        length=inches(96),
        width=inches(48),
    )
    cut(make_offcut(by=by, material=ply, length="40", width="40"), make_job(), by, left="")
    undone = cut(make_offcut(by=by, material=ply, length="40", width="40"), make_job(), by, left="")
    undoing.undo(movement=undone.movement, by=by)
    today = timezone.localdate()
    found = spending.saved(today, today)
    # 20 × 20 of 96 × 48 at 96.00
    assert [row[1:] for row in found.rows] == [(1, inches(20) ** 2, Decimal("8.33"))]
    assert spending.saved(None, today - timedelta(days=1)).total == 0


def test_lumber_saves_by_the_board_foot(by):
    ash = make_material(kind="lumber")  # 5/4
    cataloguing.add_offer(
        material=ash, supplier=make_supplier(), price=Decimal("8.00"), seen_on=date(2026, 11, 1)
    )
    making.cut_free(
        piece=make_offcut(by=by, material=ash, length="24", width="12"),
        taken=[(1, inches(24), inches(12))],
        left=[],
        by=by,
        job=make_job(),
    )
    assert spending.saved(None, None).total == Decimal("20.00")  # 2 sq ft of 5/4 are 2.5 board feet


def test_the_rack_is_counted_by_age_and_dead_stock_is_what_nobody_touched(by):
    with on(timezone.localdate() - timedelta(days=400)):
        old = make_sheet(by=by, price="40.00")
        moved = make_sheet(by=by, price="30.00")
    making.pull(piece=moved, by=by)
    make_offcut(by=by, value="2.00")
    put_in_goods(material=make_material(kind="goods"), quantity=Decimal(4), value=Decimal("3.00"), by=by)
    rack = rack_worth.by_age()
    assert {row.name: row.value for row in rack.ages if row.value} == {"month": 2, "older": 70}
    assert (rack.pieces, rack.goods, rack.total) == (72, 3, 75)
    assert [list(rack_worth.pieces_of_age(row.name)) for row in rack.ages[1:4]] == [[], [], []]
    assert list(rack_worth.untouched_since(rack_worth.months_ago(12))) == [old]
    assert rack_worth.goods_untouched_since(timezone.localdate()) == []


def test_a_price_history_tells_what_was_asked_from_what_was_paid(by):
    ply, yard = make_material(), make_supplier("Yard")
    for price, day in (("90.00", date(2026, 9, 1)), ("92.00", date(2026, 10, 1))):
        cataloguing.add_offer(
            material=ply,
            supplier=yard,
            price=Decimal(price),
            seen_on=day,
            length=inches(96),
            width=inches(48),
        )
    make_sheets(4, by=by, material=ply, price="91.00", freight=Decimal("10.00"), supplier=yard)
    assert [(one.what.partition(",")[0], one.each) for one in prices.history(ply)] == [
        ("asked then", Decimal("90.00")),
        ("asked", Decimal("92.00")),
        ("paid", Decimal("93.50")),
    ]


def past_job(by, cost, quantity):
    job, ply = make_job(), make_material()
    make_part(job, ply, length="24", width="12", quantity=quantity)
    cut(make_sheet(by=by, material=ply, price=cost), job, by, left="")
    return job


def test_the_next_piece_costs_what_past_ones_did_by_the_area_of_their_parts(by):
    past = [past_job(by, "100.00", 10), past_job(by, "90.00", 6), past_job(by, "120.00", 10)]
    following = make_job()
    make_part(following, make_material(), length="24", width="12", quantity=20)
    (area, _) = comparing.areas([following])[following.pk]
    found = comparing.compare(past, area)
    assert (found.least, found.middle, found.most) == (200, 240, 300)


def test_without_a_list_for_the_next_one_it_is_as_large_as_they_are_on_average(by):
    found = comparing.compare([past_job(by, "100.00", 10), past_job(by, "40.00", 20)], None)
    assert found.area == 15 * inches(24) * inches(12)
    assert (found.least, found.most) == (30, 150)


# ---- whatever was charged ---------------------------------------------------------------------------------

STEPS = st.lists(
    st.tuples(st.integers(0, 4), st.integers(0, 2), st.integers(1, 9_999), st.integers(0, 40)),
    min_size=1,
    max_size=8,
)


class TestWhateverIsCharged(TestCase):
    """Group sums, the list behind each, and the files say the same, in every group."""

    @settings(max_examples=30)
    @given(steps=STEPS, sort=st.sampled_from(["", *Charge.Sort.values]))
    def test_every_figure_is_what_is_behind_it(self, steps, sort):
        by, jobs = make_person(), [make_job() for _ in range(3)]
        materials = [make_material(), make_material(kind="goods")]
        for what, which, cents, days in steps:
            with on(date(2026, 9, 20) + timedelta(days=days)):
                self.do(what, jobs[which], Decimal(cents) / 100, materials, by)
        whole = Asked(sort=sort)
        total = sum((charge.amount for charge in Charge.objects.all() if sort in ("", charge.sort)), NOTHING)
        for group in GROUPS:
            found = spending.spend(spending.replace(whole, group=group))
            assert found.total == spending.ledger_total(whole) == total == spending.total_of(whole)
            for row in found.rows:
                assert spending.ledger_total(row.asked) == row.amount
                behind = list(spending.behind(row.asked))
                assert sum(charge.amount for charge in behind) == row.amount
                table = spending.behind_as_table(behind)
                assert sum(line[-1] for line in table[1:]) == row.amount
            table = spending.as_table(found, group)
            assert [
                sum(column, NOTHING) for column in zip(*(row[1:] for row in table[1:-1]), strict=True)
            ] in (
                table[-1][1:],
                [],
            )

    def do(self, what, job, amount, materials, by):
        if what == 0:
            put_in_goods(material=materials[1], quantity=Decimal(3), value=amount, by=by)
            making.issue_goods(job=job, material=materials[1], quantity=Decimal(2), by=by)
        elif what == 1:
            cut(make_offcut(by=by, length="70", width="44", value=str(amount)), job, by)
        elif what == 2 and Piece.objects.in_rack().offcuts().exists():
            cut(Piece.objects.in_rack().offcuts()[0], job, by, left="")
        elif what == 3 and (last := Movement.objects.main().standing().filter(account="job").first()):
            with suppress(Refused):  # something stands on it
                undoing.undo(movement=last, by=by)
        else:
            cut(make_sheet(by=by, material=materials[0], price=str(amount)), job, by)


# ---- the pages --------------------------------------------------------------------------------------------

PAGES = ["spend", "spend-movements", "spend-saved", "spend-rack", "spend-prices", "spend-compare"]
FILES = ["spend-export", "spend-movements-export", "spend-saved-export", "spend-rack-export"]


def some_spend(by, jobs=2):
    for _ in range(jobs):
        job = make_job()
        cut(make_sheet(by=by, price="10.00"), job, by)
        cut(make_offcut(by=by, length="70", width="44"), job, by)
        hinges = make_material(kind="goods")
        put_in_goods(material=hinges, quantity=Decimal(3), value=Decimal("2.00"), by=by)
        goods_of(job, hinges, by)


def goods_of(job, hinges, by):
    making.issue_goods(job=job, material=hinges, quantity=Decimal(2), by=by)
    goods.count(material=hinges, counted=Decimal(1), by=by)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_spend_asks_as_often_with_30_jobs_as_with_3(desk, by, name):
    some_spend(by, 3)
    material = Piece.objects.first().material
    asked = {"group": "client", "material": material.pk, "first": "2020-01-01"}
    with CaptureQueriesContext(connection) as few:
        assert desk.get(reverse(name), asked).status_code == 200
    some_spend(by, 27)
    with CaptureQueriesContext(connection) as many:
        assert desk.get(reverse(name), asked).status_code == 200
    assert len(few) == len(many) < 15


@pytest.mark.parametrize("name", [*PAGES, *FILES])
def test_the_bench_sees_no_spend(client, name):
    client.force_login(make_person("bench"))
    address = reverse(name, args=["csv"]) if name in FILES else reverse(name)
    assert client.get(address).status_code == 403
    assert client.post(address).status_code in (403, 405)


@pytest.mark.parametrize("name", [*FILES, "spend-prices-export"])
def test_every_table_comes_as_csv_and_xlsx_and_nothing_else(desk, by, name):
    some_spend(by)
    of_it = {"material": Piece.objects.first().material_id} if "prices" in name else {}
    assert len(table_of(desk.get(reverse(name, args=["csv"]), of_it))) > 1
    assert desk.get(reverse(name, args=["xlsx"]), of_it).content[:2] == b"PK"
    assert desk.get(reverse(name, args=["ods"]), of_it).status_code == 404


def test_the_file_adds_up_to_the_page(desk, by):
    some_spend(by)
    total = spending.total_of(Asked())
    last = table_of(desk.get(reverse("spend-export", args=["csv"]), {"group": "job"}))[-1]
    assert Decimal(last[-1]) == total
    assert f"${total}" in desk.get(reverse("spend")).content.decode()


def test_a_charge_that_is_missing_shows_beside_the_ledger(desk, by):
    some_spend(by)
    assert "The ledger says" in desk.get(reverse("spend")).content.decode()
    charge = Charge.objects.filter(sort="stock").first()
    charge.delete()
    for asked in ({}, {"job": charge.job.number}, {"material": charge.movement.piece.material_id}):
        page = desk.get(reverse("spend"), asked)
        assert page.context["ledger"] - page.context["spend"].total == charge.amount
        assert "The ledger says" not in page.content.decode()
        assert "not what they are charged" in page.content.decode()


def test_three_past_jobs_answer_on_one_page(desk, by):
    past = [past_job(by, "100.00", 10), past_job(by, "90.00", 6), past_job(by, "120.00", 10)]
    following = make_job()
    make_part(following, make_material(), length="24", width="12", quantity=20)
    asked = {"like": " ".join(job.number for job in past), "next": following.number}
    page = desk.get(reverse("spend-compare"), asked).content.decode()
    assert "$240.00" in page
    assert "$200.00 to $300.00" in page


def test_past_jobs_are_ticked_and_stay_ticked(desk, by):
    past = [past_job(by, "100.00", 10), past_job(by, "90.00", 6), past_job(by, "120.00", 10)]
    Job.objects.update(state=Job.State.DONE)
    following = make_job(state="asked")
    make_part(following, make_material(), length="24", width="12", quantity=20)
    page = desk.get(reverse("spend-compare"))
    assert page.context["listed"] == list(reversed(past))
    asked = {"job": [job.number for job in past[:2]], "next": following.number}
    page = desk.get(reverse("spend-compare"), asked)
    assert page.context["chosen"] == past[:2]
    assert page.content.decode().count(" checked>") == 2
    assert "$200.00 to $300.00" in page.content.decode()
    unknown = desk.get(reverse("spend-compare"), {"next": "99-999"})
    assert (unknown.status_code, "no open job 99-999" in unknown.content.decode()) == (422, True)


def test_a_job_that_is_not_there_is_named(desk):
    page = desk.get(reverse("spend-compare"), {"like": "99-999"})
    assert page.status_code == 422
    assert "There is no job 99-999." in page.content.decode()


@pytest.mark.parametrize("months", ["0", "x", "-3", "999"])
def test_months_that_make_no_sense_are_shown_back(desk, months):
    assert desk.get(reverse("spend-rack"), {"months": months}).status_code == 422
