"""Goods by lot: issued, given back and counted, first in first out or at the average, never off by a cent."""

from datetime import date
from decimal import Decimal

import pytest
from django.db.models import Sum
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory import goods, ledger, receiving
from inventory.models import GoodsLot, Movement
from jobs import auditing, making, undoing
from shared.models import Shop
from shared.refusal import Refused
from tests.factories import make_job, make_material, make_person, make_supplier

pytestmark = pytest.mark.django_db
NOTHING = Decimal("0.00")


@pytest.fixture
def by():
    return make_person()


def set_costing(method: str) -> None:
    Shop.objects.update_or_create(pk=1, defaults={"goods_costing": method})


def receive(material, quantity, price, by, number):
    return receiving.receive(
        supplier=make_supplier(),
        number=number,
        date=date(2026, 11, 2),
        lines=[receiving.GoodsLine(material, Decimal(quantity), Decimal(price))],
        by=by,
    )


def stock_of(material):
    lots = GoodsLot.objects.filter(material=material)
    sums = lots.aggregate(n=Sum("left", default=Decimal(0)), v=Sum("value", default=NOTHING))
    return sums["n"], sums["v"]


def test_the_average_is_taken_anew_at_each_receipt(by):
    set_costing("average")
    hinges = make_material(kind="goods")
    receive(hinges, 10, "2.00", by, "1")
    receive(hinges, 10, "4.00", by, "2")
    assert -sum(row.value for row in goods.issue(material=hinges, quantity=Decimal(10), by=by)) == 30
    receive(hinges, 10, "6.00", by, "3")
    assert -sum(row.value for row in goods.issue(material=hinges, quantity=Decimal(4), by=by)) == 18


def test_what_a_job_gives_back_at_the_average_is_what_it_was_charged(by):
    set_costing("average")
    hinges, job = make_material(kind="goods"), make_job()
    receive(hinges, 3, "2.00", by, "1")
    receive(hinges, 3, "3.33", by, "2")
    before = stock_of(hinges)
    making.issue_goods(job=job, material=hinges, quantity=Decimal(5), by=by)
    set_costing("fifo")  # changed meanwhile: nothing may be lost
    making.put_goods_back(job=job, material=hinges, quantity=Decimal(2), by=by)
    making.put_goods_back(job=job, material=hinges, quantity=Decimal(3), by=by)
    assert stock_of(hinges) == before
    assert job.charges.aggregate(n=Sum("amount"))["n"] == 0
    assert auditing.faults() == []


def test_an_issue_at_the_average_is_undone_whole(by):
    set_costing("average")
    hinges, job = make_material(kind="goods"), make_job()
    receive(hinges, 3, "2.00", by, "1")
    receive(hinges, 3, "1.00", by, "2")
    before = [(lot.left, lot.value) for lot in GoodsLot.objects.all()]
    making.issue_goods(job=job, material=hinges, quantity=Decimal(3), by=by)
    assert stock_of(hinges) == (3, Decimal("4.50"))
    undoing.undo(movement=Movement.objects.filter(verb="issue").order_by("pk")[0], by=by)
    assert [(lot.left, lot.value) for lot in GoodsLot.objects.all()] == before


def test_a_count_writes_off_what_is_missing_and_brings_it_back_when_found(by):
    hinges = make_material(kind="goods")
    receive(hinges, 10, "2.00", by, "1")
    goods.count(material=hinges, counted=Decimal(7), by=by)
    assert stock_of(hinges) == (7, 14)
    goods.count(material=hinges, counted=Decimal(9), by=by)
    assert stock_of(hinges) == (9, 18)
    assert goods.count(material=hinges, counted=Decimal(9), by=by) == []
    goods.count(material=hinges, counted=Decimal(12), by=by)
    assert stock_of(hinges) == (12, 20)
    assert auditing.faults() == []


def test_the_same_count_sent_twice_counts_once(by):
    hinges = make_material(kind="goods")
    receive(hinges, 10, "2.00", by, "1")
    first = goods.count(material=hinges, counted=Decimal(7), by=by, key="k")
    goods.issue(material=hinges, quantity=Decimal(2), by=by)
    assert goods.count(material=hinges, counted=Decimal(7), by=by, key="k") == first
    assert goods.in_stock(hinges) == 5


@pytest.mark.parametrize("counted", ["-1", "2.5"])
def test_a_count_that_makes_no_sense_is_refused(by, counted):
    hinges = make_material(kind="goods", name="Hinge")
    with pytest.raises(Refused):
        goods.count(material=hinges, counted=Decimal(counted), by=by)


STEPS = st.one_of(
    st.tuples(st.just("receive"), st.integers(1, 30), st.integers(0, 999)),
    st.tuples(st.just("issue"), st.integers(1, 30), st.integers(0, 1)),
    st.tuples(st.just("back"), st.integers(1, 10), st.integers(0, 1)),
    st.tuples(st.just("count"), st.integers(0, 40), st.just(0)),
    st.tuples(st.just("undo"), st.integers(0, 99), st.just(0)),
    st.tuples(st.just("costing"), st.just(0), st.integers(0, 1)),
)


class TestWhateverGoodsDo(TestCase):
    """Value in = on the shelf + charged + written off, at every step, whichever way goods are costed."""

    @given(steps=st.lists(STEPS, min_size=1, max_size=14))
    def test_no_cent_is_lost(self, steps):
        by, glue, job = make_person(), make_material(kind="goods"), make_job()
        received = NOTHING
        for number, (what, count, other) in enumerate(steps):
            before = stock_of(glue)
            try:
                if what == "receive":
                    receive(glue, count, Decimal(other) / 100, by, str(number))
                    received += count * Decimal(other) / 100
                elif what == "issue" and other:
                    making.issue_goods(job=job, material=glue, quantity=Decimal(count), by=by)
                elif what == "issue":
                    goods.issue(material=glue, quantity=Decimal(count), by=by)
                elif what == "back":
                    making.put_goods_back(job=job, material=glue, quantity=Decimal(count), by=by)
                elif what == "count":
                    goods.count(material=glue, counted=Decimal(count), by=by)
                    assert goods.in_stock(glue) == count
                elif what == "undo":
                    rows = list(Movement.objects.main().standing().exclude(verb="receive"))
                    if rows:
                        undoing.undo(movement=rows[count % len(rows)], by=by)
                else:
                    set_costing(["fifo", "average"][other])
            except Refused:
                assert stock_of(glue) == before
            charged = job.charges.aggregate(n=Sum("amount", default=NOTHING))["n"]
            off = Movement.objects.filter(account="written off").aggregate(n=Sum("value", default=NOTHING))
            assert received == stock_of(glue)[1] + charged - off["n"]
        assert auditing.faults() == []


@given(
    lots=st.lists(st.tuples(st.integers(1, 999), st.integers(0, 9999)), min_size=1, max_size=6),
    share=st.fractions(0, 1),
)
def test_the_average_leaves_every_lot_at_the_same_worth_each(lots, share):
    """To the cent that a lot's worth is rounded to."""
    rows = [
        GoodsLot(pk=pk, left=Decimal(left), value=Decimal(cents) / 100)
        for pk, (left, cents) in enumerate(lots)
    ]
    there, carried = sum(lot.left for lot in rows), sum(lot.value for lot in rows)
    quantity = Decimal(int(int(there) * share))
    taken = {one.lot.pk: one for one in goods.at_average(rows, quantity)}
    assert sum(one.quantity for one in taken.values()) == quantity
    for lot in rows:
        one = taken.get(lot.pk) or goods.Taken(lot, Decimal(0), ledger.NOTHING)
        left, worth = lot.left - one.quantity, lot.value - one.worth
        assert abs(worth - carried * left / there) < Decimal("0.0101")
