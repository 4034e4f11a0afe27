"""Amounts are whole cents: none is lost in a split, and none is read that could mean another."""

import time
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shared.money import MOST, NotMoney, cost_of, format_money, parse_money, share, spread

AMOUNTS = st.decimals(0, MOST, places=2)
WEIGHTS = st.lists(st.integers(0, 10**12) | st.decimals(0, 10**6, places=3), min_size=1, max_size=30).filter(
    any
)


# ---- splitting --------------------------------------------------------------------------------------------


@given(total=st.decimals(-MOST, MOST, places=2), weights=WEIGHTS)
def test_a_split_adds_up_to_the_cent(total, weights):
    assert sum(spread(total, weights)) == total


@given(total=AMOUNTS, weights=WEIGHTS)
def test_each_share_is_within_a_cent_of_its_exact_part(total, weights):
    whole = sum(map(Fraction, weights))
    for amount, weight in zip(spread(total, weights), weights, strict=True):
        assert abs(Fraction(amount) - Fraction(total) * Fraction(weight) / whole) < Fraction(1, 100)


@given(total=AMOUNTS, weights=WEIGHTS)
def test_what_weighs_nothing_pays_nothing_and_what_weighs_more_never_pays_less(total, weights):
    shares = spread(total, weights)
    by_weight = sorted(zip(weights, shares, strict=True))
    assert all(amount == 0 for weight, amount in by_weight if weight == 0)
    assert all(
        amount >= lighter or weight == light for (light, lighter), (weight, amount) in pairwise(by_weight)
    )


@given(total=AMOUNTS, weights=WEIGHTS)
def test_a_discount_is_split_as_a_charge_is(total, weights):
    assert spread(-total, weights) == [-amount for amount in spread(total, weights)]


def test_spare_cents_go_to_the_largest_remainders_and_then_to_the_earlier():
    assert spread(Decimal("0.05"), [1, 1, 1]) == [Decimal("0.02"), Decimal("0.02"), Decimal("0.01")]
    assert spread(Decimal("1.00"), [30, 30, 40, 50]) == [
        Decimal(text) for text in ("0.20", "0.20", "0.27", "0.33")
    ]
    assert spread(Decimal("100.00"), [Decimal("1246.30"), Decimal("92.00")]) == [
        Decimal("93.13"),
        Decimal("6.87"),
    ]


@pytest.mark.parametrize(
    ("total", "weights"), [("1.00", []), ("1.00", [0, 0]), ("1.00", [1, -1]), ("1.005", [1]), ("NaN", [1])]
)
def test_a_split_that_makes_no_sense_is_refused(total, weights):
    with pytest.raises(ValueError):
        spread(Decimal(total), weights)


@given(total=AMOUNTS, whole=st.integers(1, 10**15), data=st.data())
def test_a_part_never_costs_more_than_the_whole(total, whole, data):
    part = data.draw(st.integers(0, whole))
    assert 0 <= share(total, part, whole) <= total
    assert abs(Fraction(share(total, part, whole)) - Fraction(total) * part / whole) <= Fraction(1, 200)


@given(total=AMOUNTS, whole=st.integers(1, 10**15))
def test_all_of_it_is_the_total_and_none_of_it_is_nothing(total, whole):
    assert share(total, whole, whole) == total
    assert share(total, 0, whole) == 0


@pytest.mark.parametrize(
    ("total", "amount"), [("0.01", "0.00"), ("0.03", "0.02"), ("0.05", "0.02"), ("-0.03", "-0.02")]
)
def test_half_a_cent_goes_to_the_even_one(total, amount):
    assert share(Decimal(total), 1, 2) == Decimal(amount)


@pytest.mark.parametrize(("part", "whole"), [(2, 1), (-1, 1), (0, 0), (1, -1), (-1, -1)])
def test_a_part_that_is_none_is_refused(part, whole):
    with pytest.raises(ValueError, match="not a part"):
        share(Decimal("1.00"), part, whole)


def test_a_cost_is_rounded_once_at_the_end():
    assert cost_of(Fraction(37, 3), Decimal("0.15")) == Decimal("1.85")
    assert cost_of(3, Decimal("92.00")) == Decimal("276.00")
    assert cost_of(Decimal("0.5"), Decimal("0.25")) == Decimal("0.12")


# ---- reading ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "1246.30",
        "1246.3",
        "1,246.30",
        "$1,246.30",
        "$ 1246.30",
        "1 246,30",
        "1.246,30 €",
        "1246,3",
        "£1'246.30",
        "1’246,30",
        "1\N{NO-BREAK SPACE}246,30\N{NO-BREAK SPACE}€",
        "1\N{NARROW NO-BREAK SPACE}246.30",
        "  ₹1246.30 ",
    ],
)
def test_an_amount_is_read_however_it_is_grouped(text):
    assert parse_money(text) == Decimal("1246.30")


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("0", "0.00"),
        (".5", "0.50"),
        ("1,246", "1246.00"),
        ("1 246", "1246.00"),
        ("12,5", "12.50"),
        ("1,24", "1.24"),
        ("1,234,567.89", "1234567.89"),
        ("1.234.567,89", "1234567.89"),
        ("99999999.99", "99999999.99"),
        ("007", "7.00"),
    ],
)
def test_what_can_be_read_in_one_way_is_read(text, amount):
    assert str(parse_money(text)) == amount


WOULD_DO = "Write 1246.30 or 1,246.30."


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("-3", "is below zero"),
        ("−$3", "is below zero"),
        ("$-3", "is below zero"),
        ("1.246", "has more than two decimals"),
        ("$1,246.305", "has more than two decimals"),
        ("1e5", "is not an amount of money"),
        ("nan", "is not an amount of money"),
        ("Infinity", "is not an amount of money"),
        ("1_000", "is not an amount of money"),
        ("12,46,00", "is not an amount of money"),
        ("1,2467", "is not an amount of money"),
        ("1 24", "is not an amount of money"),
        ("1,246 300.00", "is not an amount of money"),
        ("1.246,305", "is not an amount of money"),
        ("12.", "is not an amount of money"),
        ("$", "is not an amount of money"),
        ("$$5", "is not an amount of money"),
        ("5 x", "is not an amount of money"),
        ("٣", "is not an amount of money"),
        ("100000000", "is more than can be kept here (99,999,999.99)"),
        ("9" * 40, "is more than can be kept here (99,999,999.99)"),
        ("9" * 41, "is too long to be an amount"),
    ],
)
def test_what_is_no_amount_is_refused_in_a_sentence(text, why):
    with pytest.raises(NotMoney) as refused:
        parse_money(text)
    shown = text if len(text) <= 24 else f"{text[:24]}…"
    assert str(refused.value) == f'"{shown}" {why}. {WOULD_DO}'


@pytest.mark.parametrize("text", ["", "  \n"])
def test_a_missing_amount_is_said_to_be_missing(text):
    with pytest.raises(NotMoney) as refused:
        parse_money(text)
    assert str(refused.value) == f"An amount is missing. {WOULD_DO}"


def test_a_megabyte_is_refused_at_once():
    started = time.perf_counter()
    for text in ["9" * 1_000_000, "1," * 500_000, "$" * 1_000_000]:
        with pytest.raises(NotMoney):
            parse_money(text)
    assert time.perf_counter() - started < 1


@given(text=st.text("0123456789 ,.'$€-", max_size=14) | st.text())
@example(text="1,234.567,89")
def test_any_text_is_an_amount_in_cents_or_is_refused(text):
    try:
        amount = parse_money(text)
    except NotMoney as refused:
        sentence = str(refused)
        assert sentence.endswith(".")
    else:
        assert 0 <= amount <= MOST
        assert amount.as_tuple().exponent == -2


# ---- showing ----------------------------------------------------------------------------------------------


@given(amount=AMOUNTS, currency=st.sampled_from(["USD", "EUR", "GBP", "CAD"]))
def test_an_amount_shown_reads_back(amount, currency):
    assert parse_money(format_money(amount, currency)) == amount


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("1246.3", "USD", "$1,246.30"),
        ("0", "USD", "$0.00"),
        ("-9.1", "USD", "−$9.10"),
        ("-0.001", "USD", "$0.00"),
        ("0.125", "GBP", "£0.12"),
        ("1246.3", "SEK", "SEK\N{NO-BREAK SPACE}1,246.30"),
    ],
)
def test_an_amount_is_shown_to_the_cent_with_its_currency(amount, currency, text):
    assert format_money(Decimal(amount), currency) == text


@given(total=AMOUNTS, parts=st.lists(st.integers(1, 10**9), min_size=1, max_size=10))
def test_shares_of_a_piece_miss_its_value_by_at_most_half_a_cent_each(total, parts):
    shares = [share(total, part, sum(parts)) for part in parts]
    assert abs(sum(shares) - total) <= Decimal("0.005") * len(parts)
