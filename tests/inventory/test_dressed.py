"""Dressed softwood: measured as it is planed, counted and paid by its nominal size."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory import putting_in, receiving
from inventory.boardlist import NotBoards, read_boards
from inventory.builtin import dressed_widths
from inventory.dressed import measured_width, nominal_width
from inventory.models import Material, Piece
from shared.measure import board_feet, inches
from tests.factories import make_material, make_person, make_supplier

DRESSED = {"thickness_text": "2", "thickness": inches("1 1/2"), "is_dressed": True}


@given(st.sampled_from(dressed_widths()), st.integers(1, 40).map(lambda feet: inches(12 * feet)))
def test_a_board_called_by_its_name_measures_less_and_counts_as_it_is_called(size, length):
    two_by = Material(kind="lumber", **DRESSED)
    assert measured_width(size.nominal) == size.dry < size.nominal
    assert two_by.board_feet(measured_width(size.nominal), length) == board_feet(
        inches(2), size.nominal, length
    )


@given(st.integers(inches("1/2"), inches(20)))
def test_no_board_is_sold_as_less_than_it_measures(width):
    assert width <= nominal_width(width) <= nominal_width(width + inches(1))


def test_a_tally_takes_dressed_widths_by_name_or_by_tape():
    tally = "6 x 96 x 2\n5 1/2 x 96"
    assert read_boards(tally, "in", are_dressed=True) == [(inches("5 1/2"), inches(96))] * 3
    assert read_boards("6 x 96", "in") == [(inches(6), inches(96))]


def test_a_width_that_softwood_is_not_planed_to_is_refused_with_what_would_do():
    with pytest.raises(NotBoards, match=r"Line 1: 5 1/8 in is no width .* a 5 is 4 1/2 and a 6 is 5 1/2"):
        read_boards("5 1/8 x 96", "in", are_dressed=True)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("by_tally", "feet"),
    # 2 × 4, 8 ft: 5 1/3 exactly; by the tally 3 square feet, times 2. Three of them: 16, and 9 × 2.
    [(None, Fraction(16)), (False, Fraction(16)), (True, Fraction(18))],
)
def test_both_counts_are_kept_at_nominal_size_and_the_chosen_one_is_paid(by_tally, feet):
    spruce = make_material("spruce 2×", "lumber", **DRESSED)
    boards = ((inches("3 1/2"), inches(96)),) * 3
    line = receiving.BoardLine(spruce, boards, Decimal("1.50"), by_tally=by_tally)
    assert line.board_feet == feet
    receipt = receiving.receive(
        supplier=make_supplier(), number="S1", date=date(2026, 11, 4), lines=[line], by=make_person()
    )
    assert receipt.total == Decimal("1.50") * int(feet)
    for piece in Piece.objects.all():
        assert (piece.width, piece.board_feet, piece.tally_board_feet) == (
            inches("3 1/2"),
            Decimal("5.3333"),
            6,
        )


@pytest.mark.django_db
def test_what_was_put_in_counts_at_nominal_size_too():
    spruce = make_material("spruce 2×", "lumber", **DRESSED)
    put = putting_in.put_in(
        material=spruce, kind="board", length=inches(72), width=inches("5 1/2"), by=make_person()
    )
    assert put.board_feet == 6


@pytest.mark.django_db
def test_a_dressed_lumber_as_thick_as_it_is_called_is_refused_with_what_it_measures(at_desk):
    form = {"name": "spruce 2×", "thickness_text": "2", "thickness": "2", "is_dressed": "on"}
    answer = at_desk.post(f"{reverse('material-new')}?kind=lumber", form)
    assert answer.status_code == 422
    assert "This one is 1 1/2 in." in answer.content.decode()
    assert at_desk.post(f"{reverse('material-new')}?kind=lumber", form | {"thickness": "1 1/2"}).url
    assert Material.objects.get().is_dressed
