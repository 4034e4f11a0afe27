"""Pieces at least so long by so wide: the rule that the whole stock page rests on."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.models import Piece
from shared.measure import inches
from tests.factories import make_material, make_offcut

pytestmark = pytest.mark.django_db

SIZES = [("12", "40"), ("40", "12"), ("40", "40"), ("11 63/64", "60"), ("60", "11 63/64"), ("24", "24")]


@pytest.fixture
def rack(bench):
    """The same sizes of a material with a grain and of one without."""
    oak, mdf = make_material("oak"), make_material("mdf", is_grained=False)
    return [
        make_offcut(by=bench, material=material, length=length, width=width)
        for material in (oak, mdf)
        for length, width in SIZES
    ]


def holds(piece, length, width, with_grain):
    """The rule in words of its own: lay the rectangle on the piece as it is, or turned where that may be."""
    ways = [(length, width)]
    if not with_grain or not piece.material.is_grained:
        ways.append((width, length))
    return any(along <= piece.length and across <= piece.width for along, across in ways)


def sizes(pieces):
    return {(piece.material.name, piece.length, piece.width) for piece in pieces}


def test_either_way_takes_a_piece_that_has_to_be_turned(rack):
    found = Piece.objects.at_least(inches(30), inches(12))
    assert sizes(found) == {
        (name, inches(length), inches(width))
        for name in ("oak", "mdf")
        for length, width in [("12", "40"), ("40", "12"), ("40", "40")]
    }


def test_with_the_grain_a_grained_piece_is_not_turned_and_a_plain_one_is(rack):
    found = Piece.objects.at_least(inches(30), inches(12), with_grain=True)
    assert sizes(found) == {
        ("oak", inches(40), inches(12)),
        ("oak", inches(40), inches(40)),
        ("mdf", inches(12), inches(40)),
        ("mdf", inches(40), inches(12)),
        ("mdf", inches(40), inches(40)),
    }


def test_a_piece_of_exactly_that_size_is_large_enough(rack):
    exact = inches("11 63/64")
    assert ("oak", inches(60), exact) in sizes(Piece.objects.at_least(inches(60), exact, with_grain=True))
    assert not sizes(Piece.objects.at_least(inches(60), exact + 1))


def test_only_a_length_asks_for_one_side_that_long(rack):
    assert sizes(Piece.objects.at_least(inches(50), None)) == {
        (name, inches(length), inches(width))
        for name in ("oak", "mdf")
        for length, width in [("11 63/64", "60"), ("60", "11 63/64")]
    }
    along = Piece.objects.at_least(inches(50), None, with_grain=True)
    assert ("oak", inches("11 63/64"), inches(60)) not in sizes(along)


ASKED = st.one_of(
    st.none(), st.sampled_from([11, 12, 24, 39, 40, 41, 60]).map(inches), st.integers(1, inches(70))
)


@given(length=ASKED, width=ASKED, with_grain=st.booleans())
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
def test_the_database_and_the_piece_itself_agree_with_the_rule(rack, length, width, with_grain):
    expected = {p.pk for p in rack if holds(p, length or 0, width or 0, with_grain)}
    found = Piece.objects.at_least(length, width, with_grain=with_grain)
    assert {piece.pk for piece in found} == expected
    assert {p.pk for p in rack if p.fits(length or 0, width or 0, with_grain=with_grain)} == expected
