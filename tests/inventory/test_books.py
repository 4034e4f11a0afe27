"""Closed days stay closed and say what they said; the journal balances to zero."""

import csv
import io
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from unittest import mock

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory import books, goods, handling, putting_in, receiving, sawing
from inventory.models import AccountName, ClosedPeriod, Movement, Piece, State
from jobs import auditing, making, undoing
from shared.refusal import Refused
from tests.factories import (
    make_job,
    make_material,
    make_offcut,
    make_person,
    make_sheet,
    make_sheets,
    make_supplier,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


@contextmanager
def on(day):
    """The clock as it stands at ten on a day."""
    then = timezone.make_aware(datetime.combine(day, time(10)))
    its_time = mock.patch.object(Movement._meta.get_field("at"), "get_default", return_value=then)
    with mock.patch("django.utils.timezone.now", return_value=then), its_time:
        yield


@pytest.fixture
def owner():
    return make_person()


@pytest.fixture
def closed(owner):
    """A sheet received in October, a second one today; October is closed."""
    with on(date(2026, 10, 20)):
        make_sheet(by=owner, price="92.00")
    with on(TODAY):
        make_sheet(by=owner, price="95.00")
        return books.close(last_day=date(2026, 10, 31), by=owner)


def test_a_closed_period_keeps_what_it_came_to(closed):
    assert (closed.received, closed.on_rack) == (92, 92)
    assert books.closed_up_to() == date(2026, 10, 31)


def test_no_movement_is_dated_into_closed_days(owner, closed):
    sheet = Piece.objects.first()
    with on(date(2026, 10, 31)), pytest.raises(DatabaseError, match="closed"), transaction.atomic():
        handling.scrap(piece=sheet, by=owner)
    with on(date(2026, 11, 1)):
        handling.scrap(piece=sheet, by=owner)


def test_what_was_done_in_closed_days_is_undone_today(owner, closed):
    received = Movement.objects.order_by("pk")[0]
    with on(TODAY):
        undone = undoing.undo(movement=received, by=owner)
    assert undone.at.date() == TODAY
    assert books.closed_periods_say_the_same() == []


@pytest.mark.parametrize("day", [TODAY, date(2026, 12, 1), date(2026, 10, 31), date(2026, 9, 30)])
def test_a_day_is_closed_once_and_when_it_is_over(owner, closed, day):
    with on(TODAY), pytest.raises(Refused):
        books.close(last_day=day, by=owner)
    assert ClosedPeriod.objects.count() == 1


@pytest.mark.parametrize("statement", ["UPDATE {} SET received = 0", "DELETE FROM {}"])
def test_a_closed_period_stays_as_it_was_closed(closed, statement):
    with pytest.raises(DatabaseError, match="stays as it was closed"), transaction.atomic():
        connection.cursor().execute(statement.format(ClosedPeriod._meta.db_table))


def test_the_journal_names_accounts_as_the_shop_does(owner):
    books.name_accounts({"stock": "1200", "supplier": "2100 Yards"})
    sheet = make_sheet(by=owner, price="92.00")
    number = sheet.receipt_line.receipt.number
    entries = list(books.journal(None, None))
    assert [(one.account, one.debit, one.credit) for one in entries] == [
        ("1200", Decimal("92.00"), Decimal("0.00")),
        ("2100 Yards", Decimal("0.00"), Decimal("92.00")),
    ]
    assert all(one.reference.startswith(f"{number} {sheet.code}") for one in entries)
    books.name_accounts({"stock": " "})
    assert books.account_names()["stock"] == "material in stock"
    assert AccountName.objects.count() == 1


def dates_in_the_journal():
    return [one.date for one in books.journal(None, None)][::2]


def test_a_delivery_is_booked_on_its_receipts_day(owner):
    with on(date(2026, 11, 5)):
        sheet = make_sheet(by=owner, price="92.00")  # its receipt is of 2 November
    with on(date(2026, 11, 6)):
        handling.scrap(piece=sheet, by=owner)
    assert dates_in_the_journal() == [date(2026, 11, 2), date(2026, 11, 6)]
    of_the_second = books.journal(date(2026, 11, 2), date(2026, 11, 2))
    assert [(one.debit, one.credit) for one in of_the_second] == [(92, 0), (0, 92)]
    assert list(books.journal(date(2026, 11, 3), date(2026, 11, 5))) == []


@pytest.mark.parametrize("day", [date(2026, 10, 30), date(2026, 12, 24)])
def test_a_delivery_of_closed_days_or_of_days_ahead_is_booked_when_it_is_entered(owner, closed, day):
    with on(TODAY):
        receive_on(day, by=owner)
    assert dates_in_the_journal()[-1] == TODAY
    assert books.closed_periods_say_the_same() == []


def test_a_late_delivery_of_open_days_is_closed_with_them(owner):
    with on(date(2026, 11, 5)):
        receive_on(date(2026, 10, 30), by=owner)
        closed = books.close(last_day=date(2026, 10, 31), by=owner)
    assert closed.received == 50


def receive_on(day, by):
    line = receiving.GoodsLine(make_material(kind="goods"), Decimal(10), Decimal("5.00"))
    receiving.receive(supplier=make_supplier(), number="7", date=day, lines=[line], by=by)


def test_a_sale_is_owed_by_the_buyer_beside_what_it_cost(owner):
    sheet = make_sheet(by=owner, price="92.00")
    sold = handling.sell(piece=sheet, price=Decimal("60.00"), by=owner)
    names = books.account_names()
    lines = [(one.account, one.debit, one.credit) for one in books.journal(None, None)][2:]
    sale = [
        (names["sold"], 92, 0),
        (names["stock"], 0, 92),
        (names["buyers"], 60, 0),
        (names["sales"], 0, 60),
    ]
    assert lines == sale
    undoing.undo(movement=sold, by=owner)
    back = [(one.account, one.debit, one.credit) for one in books.journal(None, None)][6:]
    assert sorted(back) == sorted((name, credit, debit) for name, debit, credit in sale)


def test_what_carried_nothing_and_was_sold_is_in_the_journal(owner):
    handling.sell(piece=make_offcut(by=owner, value="0"), price=Decimal("5.00"), by=owner)
    assert [one.account for one in books.journal(None, None)] == [
        books.account_names()[sort] for sort in ("buyers", "sales")
    ]


EVENTS = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 99), st.integers(1, 999)), max_size=12)


class TestWhateverHappens(TestCase):
    """Random histories over three months, closed in between."""

    @given(events=EVENTS, closing=st.integers(0, 11))
    def test_the_journal_balances_and_closing_changes_no_figure(self, events, closing):
        by, job, hinges = make_person(), make_job(), make_material(kind="goods")
        day = date(2026, 8, 20)
        for number, (what, which, amount) in enumerate(events):
            day += timedelta(days=which % 9)
            with on(day):
                if number == closing and not ClosedPeriod.objects.exists():
                    before = books.sums_up_to(day - timedelta(days=1)), list(books.journal(None, None))
                    books.close(last_day=day - timedelta(days=1), by=by)
                    assert (
                        books.sums_up_to(day - timedelta(days=1)),
                        list(books.journal(None, None)),
                    ) == before
                self.do(what, which, Decimal(amount) / 100, by, job, hinges)
        self.check(day)

    def do(self, what, which, amount, by, job, hinges):
        pieces = list(Piece.objects.filter(state=State.ON_RACK).order_by("pk"))
        piece = pieces[which % len(pieces)] if pieces else None
        if what == 0 or not piece:
            day = timezone.localdate() + timedelta(days=which % 90 - 60)
            make_sheets(1 + which % 3, by=by, price=str(amount), freight=Decimal("0.07"), date=day)
        elif what == 1:
            third = sawing.LeftOver(piece.length // 3, piece.width)
            making.cut_free(piece=piece, taken=[], left=[third], by=by, job=job)
        elif what == 2:
            handling.scrap(piece=piece, by=by)
        elif what == 3:
            handling.sell(piece=piece, price=amount, by=by)
        elif what == 4:
            putting_in.put_in_goods(material=hinges, quantity=Decimal(7), value=amount, by=by)
            making.issue_goods(job=job, material=hinges, quantity=Decimal(3), by=by)
            goods.count(material=hinges, counted=Decimal(1), by=by)
        else:
            undoing.undo(movement=Movement.objects.filter(undoes=None, undone_by=None).latest("pk"), by=by)

    def check(self, day):
        entries = list(books.journal(None, None))
        assert sum(one.debit for one in entries) == sum(one.credit for one in entries)
        assert all(one.debit >= 0 and one.credit >= 0 for one in entries)
        for first, last in [(None, None), (date(2026, 9, 1), date(2026, 9, 30)), (day, day)]:
            by_account = {}
            for one in books.journal(first, last):
                debit, credit = by_account.get(one.account, (0, 0))
                by_account[one.account] = (debit + one.debit, credit + one.credit)
            shown = {one.name: (one.debit, one.credit) for one in books.balances(first, last)}
            assert {name: sums for name, sums in shown.items() if any(sums)} == by_account
        assert auditing.faults() == []


# ---- the page ---------------------------------------------------------------------------------------------


@pytest.fixture
def page(client, owner):
    from shared.models import Shop

    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(owner)
    return client


def test_the_page_adds_up_as_its_journal_does(page, owner):
    make_sheet(by=owner, price="92.00")
    days = "?first=2026-11-02&last=2026-11-02"  # the day on its receipt
    assert "$92.00" in page.get(reverse("books") + days).content.decode()
    journal = page.get(reverse("journal", args=["csv"]) + days).content.decode("utf-8-sig").splitlines()
    assert journal[0] == "Date,Account,Debit,Credit,Reference"
    assert [line.split(",")[2:4] for line in journal[1:]] == [["92.00", "0.00"], ["0.00", "92.00"]]
    assert page.get(reverse("journal", args=["xlsx"]) + days).content[:2] == b"PK"
    assert page.get(reverse("journal", args=["pdf"]) + days).status_code == 404


def test_an_accounts_figures_lead_to_their_lines(page, owner):
    sheet = make_sheet(by=owner, price="92.00")
    handling.sell(piece=sheet, price=Decimal("60.00"), by=owner)
    for one in books.balances(None, None):
        asked = {"account": one.sort, "first": "2026-01-01", "last": "2099-01-01"}
        shown = page.get(reverse("books-lines"), asked)
        assert shown.status_code == 200
        rows = table_of(page.get(reverse("journal", args=["csv"]), asked))[1:]
        assert (sum(Decimal(row[2]) for row in rows), sum(Decimal(row[3]) for row in rows)) == (
            one.debit,
            one.credit,
        )
        assert len(list(shown.context["entries"])) == 0  # the page has written them
        assert shown.content.decode().count(sheet.code) >= len(rows)
    assert page.get(reverse("books-lines"), {"account": "x"}).status_code == 404


def table_of(file):
    return list(csv.reader(io.StringIO(file.content.decode("utf-8-sig"))))


def test_closing_has_to_be_meant(page):
    yesterday = timezone.localdate() - timedelta(days=1)
    asked = page.post(reverse("books-close"), {"last_day": yesterday})
    assert asked.status_code == 422
    assert not ClosedPeriod.objects.exists()
    assert page.post(reverse("books-close"), {"last_day": yesterday, "sure": "on"}).status_code == 302
    again = page.post(reverse("books-close"), {"last_day": yesterday, "sure": "on"})
    assert again.status_code == 422
    assert "closed up to" in again.content.decode()


def test_days_the_wrong_way_round_are_shown_back(page):
    asked = page.get(reverse("books") + "?first=2026-11-02&last=2026-11-01")
    assert asked.status_code == 422
    assert "The last day comes before the first." in asked.content.decode()


@pytest.mark.parametrize("day", ["0001-01-01", "0206-11-02", "9999-12-31"])
def test_a_year_no_shop_is_in_is_shown_back(page, day):
    for side in ("first", "last"):
        assert page.get(reverse("books"), {side: day}).status_code == 422
        assert page.get(reverse("spend"), {side: day}).status_code == 422
        assert page.get(reverse("journal", args=["csv"]), {side: day}).status_code == 409


@pytest.mark.parametrize("role", ["buyer", "bench"])
def test_the_books_are_the_owners(client, role):
    client.force_login(make_person(role))
    assert client.get(reverse("books")).status_code == 403
    assert client.get(reverse("journal", args=["csv"])).status_code == 403
    assert client.post(reverse("books-close"), {"last_day": "2026-01-01", "sure": "on"}).status_code == 403
    assert client.post(reverse("books-accounts"), {"stock": "x"}).status_code == 403


def test_names_of_accounts_are_kept(page):
    page.post(reverse("books-accounts"), {"stock": "1200", "written_off": "5900"})
    assert dict(AccountName.objects.values_list("sort", "name")) == {"stock": "1200", "written off": "5900"}
    assert page.get(reverse("books-accounts")).status_code == 405


def test_a_planted_change_in_closed_days_is_found(closed):
    assert books.closed_periods_say_the_same() == []
    with connection.cursor() as cursor:
        name = "movement_is_in_an_open_period"
        on_table = "" if connection.vendor == "sqlite" else f" ON {Movement._meta.db_table}"
        cursor.execute(f"DROP TRIGGER {name}{on_table}")
    with on(date(2026, 10, 21)):
        make_sheet(by=make_person(), price="1.00")
    assert len(books.closed_periods_say_the_same()) == 1
