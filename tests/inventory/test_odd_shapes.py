"""L-shaped offcuts: kept as the rectangles that can be cut from them, which share what the shape is worth."""

from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory import counting, handling, ledger, sawing
from inventory.models import Piece, State
from inventory.sawing import rectangles_of_l
from shared.codes import grouped
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_offcut, make_place, make_sheet

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


# ---- carried as one piece of wood ---------------------------------------------------------------------------


@pytest.fixture
def shape(buyer):
    """The two rectangles of an L in bay A1."""
    sheet = make_sheet(by=buyer, length="96", width="48", place=make_place("Bay A1"))
    left = rectangles_of_l(
        length=inches(90), width=inches(48), gone_length=inches(60), gone_width=inches(24), kerf=0
    )
    return sawing.cut_up(piece=sheet, left=left, parts_area=0, by=buyer).offcuts


def where(pieces):
    """The state and place of each, as they stand now."""
    rows = Piece.objects.filter(pk__in=[piece.pk for piece in pieces]).order_by("pk")
    return [(row.state, str(row.place or "")) for row in rows]


@pytest.mark.django_db
@pytest.mark.parametrize("scanned", [0, 1])
def test_who_carries_one_rectangle_carries_the_other(buyer, shape, scanned):
    piece, bay = shape[scanned], make_place("Bay B2")
    handling.move(piece=piece, place=bay, by=buyer)
    assert where(shape) == [(State.ON_RACK, "Bay B2")] * 2
    handling.pull(piece=piece, by=buyer)
    assert where(shape) == [(State.PULLED, "")] * 2
    handling.put_back(piece=shape[1 - scanned], by=buyer)
    assert where(shape) == [(State.ON_RACK, "Bay B2")] * 2


@pytest.mark.django_db
def test_a_pull_that_is_undone_brings_both_back(buyer, shape):
    pulled = handling.pull(piece=shape[0], by=buyer)
    ledger.undo(pulled, by=buyer)
    assert where(shape) == [(State.ON_RACK, "Bay A1")] * 2


@pytest.mark.django_db
def test_sawn_apart_they_go_their_own_ways(buyer, shape):
    first, second = shape
    handling.pull(piece=first, by=buyer)
    sawing.cut_up(piece=Piece.objects.get(pk=first.pk), left=[], parts_area=0, by=buyer)
    handling.put_back(piece=second, by=buyer)
    assert where(shape) == [(State.USED, ""), (State.ON_RACK, "Bay A1")]


@pytest.mark.django_db
def test_several_are_moved_though_some_go_along(buyer, shape):
    alone, bay = make_offcut(by=buyer, place=make_place("Bay C3")), make_place("Bay B2")
    done = handling.move_all(pieces=[*shape, alone], place=bay, by=buyer, key="k")
    assert [movement.piece for movement in done] == [shape[0], alone]
    assert where([*shape, alone]) == [(State.ON_RACK, "Bay B2")] * 3


@pytest.mark.django_db
def test_the_phone_is_told_what_goes_along_and_what_to_put_back(at_rack, buyer, shape):
    first, second = shape

    def told(name, **sent):
        address = reverse(name, args=[first.code])
        return at_rack.post(address, sent, headers={"Accept": "application/json"}).json()["sentence"]

    assert f"With it went {grouped(second.code)}" in told("pull", key="p")
    assert f"Put back what was sawn off it: {grouped(second.code)}" in told("cut", key="c")


@pytest.mark.django_db
def test_a_count_that_sees_one_label_of_two_misses_a_label_and_no_wood(buyer, shape):
    first, second = shape
    count = counting.begin(place=first.place, by=buyer)
    counting.note(count=count, code=first.code, by=buyer)
    (missing,) = counting.differences(count).missing
    assert (missing.piece, missing.may[0], missing.value) == (second, "label", 0)
    assert f"one piece of wood with {first}" in missing.says


@pytest.mark.django_db
def test_a_count_moves_both_that_are_seen_elsewhere(buyer, shape):
    bay = make_place("Bay B2")
    count = counting.begin(place=bay, by=buyer)
    for piece in shape:
        counting.note(count=count, code=piece.code, by=buyer, place=bay)
    counting.post(count=count, chosen={piece.code: "move" for piece in shape}, by=buyer, key="k")
    assert where(shape) == [(State.ON_RACK, "Bay B2")] * 2
