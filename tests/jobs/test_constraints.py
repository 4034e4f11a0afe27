"""The database refuses what must never be of jobs, whoever writes it."""

from decimal import Decimal
from typing import Any

import pytest
from django.db.models import ProtectedError

from inventory import handling
from inventory.models import Movement
from inventory.putting_in import put_in_goods
from jobs import making
from jobs.models import (
    BuyLine,
    Charge,
    Client,
    EstimateLine,
    GoodsWanted,
    Hold,
    Job,
    Layout,
    LayoutPart,
    MatchSet,
    Part,
    Plan,
    Quote,
    QuoteLine,
    Spoiled,
)
from shared.measure import inches
from tests.constraints import constraints_of, is_a_sentence, refused, unique_columns_of
from tests.factories import make_job, make_material, make_part, make_person, make_sheet

pytestmark = pytest.mark.django_db


def a_part(**columns: Any) -> None:
    Part.objects.filter(pk=make_part(make_job(), make_material()).pk).update(**columns)


def a_movement() -> Movement:
    by = make_person()
    return handling.pull(piece=make_sheet(by=by), by=by)


def a_plan(**columns: Any) -> Plan:
    return Plan.objects.create(**{"job": make_job(), "asked_by": make_person(), **columns})


def a_layout(**columns: Any) -> Layout:
    size = {"length": inches(96), "width": inches(48), "tree": {}, "material": make_material()}
    return Layout.objects.create(**{"plan": a_plan(), "position": 1, "stock_id": "s", **size, **columns})


def a_buy_line(**columns: Any) -> None:
    BuyLine.objects.create(
        **{"job": make_job(), "material": make_material(), "quantity": 1, "unit": "sheet", **columns}
    )


def a_spoiling(count: int, **columns: Any) -> None:
    part = make_part(make_job(), make_material())
    Spoiled.objects.create(**{"part": part, "count": count, "by": make_person(), **columns})


def a_spoiling_counted_twice() -> None:
    by = make_person()
    twice(lambda: a_spoiling(1, by=by, key="k1"))


def a_movement_charged_twice() -> None:
    job, movement = make_job(), a_movement()
    twice(lambda: Charge.objects.create(job=job, movement=movement, sort="stock", amount=Decimal(1)))


def a_part_twice_in_a_layout() -> None:
    layout, part = a_layout(), make_part(make_job(), make_material())
    twice(lambda: LayoutPart.objects.create(layout=layout, part=part, count=1))


def two_accepted_plans() -> None:
    job = make_job()
    twice(lambda: a_plan(job=job, state="accepted"))


def a_piece_held_twice() -> None:
    by = make_person()
    sheet = make_sheet(by=by)
    twice(lambda: Hold.objects.create(piece=sheet, job=make_job(), by=by))


def a_cut_of_two_layouts() -> None:
    movement = a_movement()
    twice(lambda: a_layout(state="cut", movement=movement))


def a_match_set_named_twice() -> None:
    job = make_job()
    twice(lambda: MatchSet.objects.create(job=job, name="drawer fronts"))


def twice(make: Any) -> None:
    for _ in range(2):
        make()


def an_estimate_line(**columns: Any) -> None:
    job, material = make_job(), make_material()
    EstimateLine.objects.create(**{"job": job, "material": material, "sort": "buy", "amount": 1, **columns})


def a_job_quoted_twice() -> None:
    job = make_job()
    twice(lambda: Quote.objects.create(job=job))


def goods_wanted_twice() -> None:
    job, hinges = make_job(), make_material(kind="goods")
    twice(lambda: GoodsWanted.objects.create(job=job, material=hinges, quantity=1))


WRONG = {
    "estimate_line_counts_something": lambda: an_estimate_line(quantity=0),
    "estimate_from_the_rack_names_the_piece": lambda: an_estimate_line(sort="rack"),
    "goods_wanted_once_a_job": goods_wanted_twice,
    "some_goods_are_wanted": lambda: GoodsWanted.objects.create(
        job=make_job(), material=make_material(kind="goods"), quantity=0
    ),
    "quote_puts_nothing_negative_on_top": lambda: Quote.objects.create(
        job=make_job(), tax_rate=Decimal("1.1")
    ),
    "quote_line_counts_something": lambda: QuoteLine.objects.create(
        quote=Quote.objects.create(job=make_job()), what="Labour", price=Decimal("-1")
    ),
    "part_is_wanted_at_least_once": lambda: a_part(quantity=0),
    "part_has_a_size": lambda: a_part(length=0),
    "no_more_parts_cut_than_wanted": lambda: a_part(quantity=2, cut=3),
    "part_grain_is_known": lambda: a_part(grain="across"),
    "something_was_spoiled": lambda: a_spoiling(0),
    "the_same_spoiling_counts_once": a_spoiling_counted_twice,
    "something_is_to_be_bought": lambda: a_buy_line(quantity=0),
    "buy_line_amounts_not_negative": lambda: a_buy_line(received=-1),
    "one_charge_a_movement_and_sort": a_movement_charged_twice,
    "one_accepted_plan_a_job": two_accepted_plans,
    "a_layout_cut_names_its_cut": lambda: a_layout(state="cut"),
    "a_part_once_a_layout": a_part_twice_in_a_layout,
    "a_match_set_once_a_job": a_match_set_named_twice,
    "strips_and_staves_are_made_for_something": lambda: a_part(kind="strip"),
}

TWICE = {
    "Quote.job": a_job_quoted_twice,
    "Client.name": lambda: twice(lambda: Client.objects.create(name="Hollis")),
    "Job.number": lambda: twice(lambda: Job.objects.create(number="26-900", title="Bench")),
    "Part.code": lambda: twice(lambda: a_part(code="K7M2Q8")),
    "Layout.movement": a_cut_of_two_layouts,
    "Hold.piece": a_piece_held_twice,
}


@pytest.mark.parametrize("name", [*WRONG, *TWICE])
def test_the_database_refuses_what_must_never_be(name):
    refused("jobs", name, {**WRONG, **TWICE}[name])


def test_every_constraint_of_jobs_is_tried_above():
    assert set(WRONG) == set(constraints_of("jobs"))
    assert set(TWICE) == unique_columns_of("jobs")


@pytest.mark.parametrize("name", sorted(constraints_of("jobs")))
def test_a_constraint_says_what_is_wrong_in_a_sentence(name):
    assert is_a_sentence(constraints_of("jobs")[name])


def test_a_job_that_was_charged_is_not_deleted():
    job, hinges, by = make_job(), make_material(kind="goods"), make_person()
    put_in_goods(material=hinges, quantity=Decimal(2), value=Decimal(2), by=by)
    making.issue_goods(job=job, material=hinges, quantity=Decimal(1), by=by)
    with pytest.raises(ProtectedError):
        job.delete()
