"""The database refuses what must never be of people and settings, whoever writes it."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from shared.measure import inches
from shared.models import CodeCounter, Person, SentForm, Shop, SignInLink
from shared.shop import the_shop
from tests.constraints import constraints_of, is_a_sentence, refused, unique_columns_of
from tests.factories import make_person

pytestmark = pytest.mark.django_db


def a_shop(**columns: Any) -> None:
    Shop.objects.filter(pk=the_shop().pk).update(**columns)


def a_link_used_for_two() -> None:
    for _ in range(2):
        SignInLink.objects.create(
            person=make_person(), digest="d" * 64, expires=timezone.now() + timedelta(days=1)
        )


def a_form_sent_twice() -> None:
    by = make_person()
    for _ in range(2):
        SentForm.objects.create(by=by, key="k", led_to="/jobs")


WRONG = {
    "sign_in_name_once_whatever_its_capitals": lambda: [
        Person.objects.create(username=name) for name in ("Nora", "nora")
    ],
    "the_same_form_counts_once": a_form_sent_twice,
    "one_code_counter": lambda: CodeCounter.objects.create(pk=2),
    "one_shop": lambda: Shop.objects.create(pk=2),
    "shop_puts_nothing_negative_on_top": lambda: a_shop(contingency="-0.1"),
    "shop_cuts_and_keeps_sizes_that_make_sense": lambda: a_shop(kerf=-1),
    "shop_rates_are_shares": lambda: a_shop(keep_rate="1.001"),
    "shop_staves_have_a_range": lambda: a_shop(stave_least=inches(6), stave_most=inches(5)),
    "shop_measures_in_inches_or_millimetres": lambda: a_shop(unit="ft"),
}

TWICE = {
    "SignInLink.digest": a_link_used_for_two,
}


@pytest.mark.parametrize("name", [*WRONG, *TWICE])
def test_the_database_refuses_what_must_never_be(name):
    refused("shared", name, {**WRONG, **TWICE}[name])


def test_every_constraint_of_the_shop_is_tried_above():
    assert set(WRONG) == set(constraints_of("shared"))
    # A name taken twice is a name taken twice whatever its capitals, which is tried.
    assert set(TWICE) == unique_columns_of("shared") - {"Person.username"}


@pytest.mark.parametrize("name", sorted(constraints_of("shared")))
def test_a_constraint_says_what_is_wrong_in_a_sentence(name):
    assert is_a_sentence(constraints_of("shared")[name])
