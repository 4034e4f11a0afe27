"""The nearest fit on the rack, and what it would leave."""

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory import finding, handling
from shared.measure import inches
from shared.shop import the_shop
from tests.factories import make_material, make_offcut, make_place, make_sheet


def fits(material, length, width, *, with_grain=True):
    return finding.nearest_fits(
        material=material,
        length=inches(length),
        width=inches(width),
        with_grain=with_grain,
        shop=the_shop(),
    )


@pytest.mark.django_db
def test_the_nearest_fit_comes_first(buyer):
    oak = make_material()
    sheet = make_sheet(by=buyer, material=oak)
    near = make_offcut(by=buyer, material=oak, length="31", width="12 1/2")
    make_offcut(by=buyer, material=oak, length="29", width="40")
    assert [fit.piece for fit in fits(oak, "30", "12")] == [near, sheet]


@pytest.mark.django_db
def test_of_two_alike_the_one_passed_first_comes_first(buyer):
    oak, near, far = make_material(), make_place(), make_place()
    second = make_offcut(by=buyer, material=oak, length="31", width="13", place=far)
    first = make_offcut(by=buyer, material=oak, length="31", width="13", place=near)
    assert [fit.piece for fit in fits(oak, "30", "12")] == [first, second]


@pytest.mark.django_db
def test_grain_decides_whether_a_piece_may_be_turned(buyer):
    oak = make_material()
    turned = make_offcut(by=buyer, material=oak, length="12 1/2", width="31")
    assert fits(oak, "30", "12") == []
    assert [fit.piece for fit in fits(oak, "30", "12", with_grain=False)] == [turned]
    assert fits(oak, "30", "12", with_grain=False)[0].is_turned


@pytest.mark.django_db
def test_what_is_pulled_is_not_offered(buyer):
    oak = make_material()
    handling.pull(piece=make_offcut(by=buyer, material=oak), by=buyer)
    assert fits(oak, "10", "10") == []


@pytest.mark.django_db
def test_it_says_what_a_fit_would_leave(buyer):
    # 96 × 48 less 30 × 12 and a kerf of 1/8 each way: ripped first leaves 96 × 35 7/8 and 65 7/8 × 12.
    oak = make_material()
    make_sheet(by=buyer, material=oak)
    assert fits(oak, "30", "12")[0].leaves == [
        (inches("96"), inches("35 7/8")),
        (inches("65 7/8"), inches("12")),
    ]


@given(
    piece=st.tuples(st.integers(1, 400), st.integers(1, 400)),
    part=st.tuples(st.integers(1, 400), st.integers(1, 400)),
    kerf=st.integers(0, 9),
)
def test_part_and_what_is_left_are_never_more_than_the_piece(piece, part, kerf):
    if part[0] > piece[0] or part[1] > piece[1]:
        return
    left = finding.leaves(piece, part, kerf)
    total = part[0] * part[1] + sum(length * width for length, width in left)
    assert total <= piece[0] * piece[1]
    assert all(length <= piece[0] and width <= piece[1] for length, width in left)


@pytest.mark.django_db
def test_the_page_shows_fits_and_offers_to_pull_the_first(at_rack, buyer):
    oak = make_material("White oak plywood 3/4")
    near = make_offcut(by=buyer, material=oak, length="31", width="12 1/2", place=make_place("Bay A1"))
    asked = {"material": oak.pk, "length": "30", "width": "12", "with_grain": "on"}
    page = at_rack.get(reverse("rack-find"), asked).content.decode()
    assert "Bay A1" in page
    assert reverse("pull", args=[near.code]) in page


@pytest.mark.django_db
def test_where_nothing_is_large_enough_the_largest_is_named(at_rack, buyer):
    oak = make_material()
    largest = make_offcut(by=buyer, material=oak, length="31", width="12 1/2")
    asked = {"material": oak.pk, "length": "90", "width": "40"}
    assert largest.code in at_rack.get(reverse("rack-find"), asked).content.decode()


@pytest.mark.django_db
def test_a_size_that_is_none_comes_back_as_typed(at_rack):
    asked = {"material": make_material().pk, "length": "30 x", "width": "12"}
    answer = at_rack.get(reverse("rack-find"), asked)
    assert answer.status_code == 422
    assert "30 x" in answer.content.decode()
