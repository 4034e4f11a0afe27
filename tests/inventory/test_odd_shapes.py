"""L-shaped offcuts: kept as the rectangles that can be cut from them, which share what the shape is worth."""

from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory import sawing
from inventory.models import Piece
from inventory.sawing import rectangles_of_l
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_sheet

sizes = st.integers(2, 500)


@given(length=sizes, width=sizes, gone_length=sizes, gone_width=sizes, kerf=st.integers(0, 5))
def test_the_rectangles_lie_within_the_l(length, width, gone_length, gone_width, kerf):
    if gone_length >= length or gone_width >= width:
        with pytest.raises(Refused):
            rectangles_of_l(
                length=length, width=width, gone_length=gone_length, gone_width=gone_width, kerf=kerf
            )
        return
    found = rectangles_of_l(
        length=length, width=width, gone_length=gone_length, gone_width=gone_width, kerf=kerf
    )
    assert sum(one.length * one.width for one in found) <= length * width - gone_length * gone_width
    largest = max(length * (width - gone_width), (length - gone_length) * width)
    assert found[0].length * found[0].width == largest
    assert all(one.length <= length and one.width <= width for one in found)


@pytest.mark.django_db
def test_its_rectangles_share_its_value_and_know_each_other(buyer):
    sheet = make_sheet(by=buyer, length="96", width="48", price="100.00")
    shape = rectangles_of_l(
        length=inches(90), width=inches(48), gone_length=inches(60), gone_width=inches(24), kerf=0
    )
    cut = sawing.cut_up(piece=sheet, left=shape, parts_area=0, by=buyer)
    first, second = cut.offcuts
    assert [(one.length, one.width) for one in cut.offcuts] == [
        (inches(90), inches(24)),
        (inches(30), inches(24)),
    ]
    # Half of what the sheet carried, by area: 90 × 24 and 30 × 24 of 96 × 48.
    assert [one.value for one in cut.offcuts] == [Decimal("23.43"), Decimal("7.81")]
    assert first.still_one_with == [second]
    assert second.still_one_with == [first]
    sawing.cut_up(piece=second, left=[], parts_area=0, by=buyer)
    assert first.still_one_with == []


@pytest.mark.django_db
def test_an_l_is_typed_on_the_cut_page(at_rack, buyer):
    sheet = make_sheet(by=buyer)
    sent = {"l_length": "90", "l_width": "48", "l_gone_length": "60", "l_gone_width": "24", "key": "k"}
    at_rack.post(reverse("cut", args=[sheet.code]), sent)
    first, second = Piece.objects.filter(parent=sheet).order_by("pk")
    page = at_rack.get(reverse("piece", args=[first.code])).content.decode()
    assert "In one with" in page
    assert second.code[:3] in page


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"l_length": "90"}, "An L needs all four sizes."),
        (
            {"l_length": "90", "l_width": "48", "l_gone_length": "95", "l_gone_width": "24"},
            "smaller than the whole",
        ),
    ],
)
def test_an_l_that_is_none_comes_back_as_typed(at_rack, buyer, sent, said):
    sheet = make_sheet(by=buyer)
    answer = at_rack.post(reverse("cut", args=[sheet.code]), sent)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Piece.objects.filter(parent=sheet).exists()
