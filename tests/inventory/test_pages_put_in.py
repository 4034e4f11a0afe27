"""Putting in what was in the shop already."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inventory.models import LabelToPrint, Piece
from shared.measure import inches
from shared.models import Shop
from tests.factories import make_material, make_place
from tests.inventory.forms_on_pages import fields_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def oak():
    return make_material("white oak ply 3/4")


def sent(material, **changes):
    """The form filled in as it should be, with what a test changes."""
    flaws = {f"flaws-{n}-{name}": "" for n in range(3) for name in ("x", "y", "length", "width", "why")}
    form = {
        "key": "tap-1",
        "material": material.pk,
        "kind": "offcut",
        "length": "40 1/2",
        "width": "22",
        "thickness": "",
        "place": "",
        "note": "",
        "do": "piece",
        "flaws-TOTAL_FORMS": "3",
        "flaws-INITIAL_FORMS": "0",
    }
    return {**form, **flaws, **changes}


def put_in(client, material, **changes):
    return client.post(reverse("put-in"), sent(material, **changes))


def test_an_offcut_gets_a_code_a_place_and_a_label_that_waits(at_rack, oak):
    place = make_place()
    answer = put_in(at_rack, oak, place=place.pk, note="from the stair job")
    piece = Piece.objects.get()
    assert answer.status_code == 302
    assert answer.url == reverse("piece", args=[piece.code])
    assert (piece.length, piece.width, piece.place, piece.state) == (
        inches("40 1/2"),
        inches(22),
        place,
        "rack",
    )
    assert piece.note == "from the stair job"
    assert LabelToPrint.objects.get().piece == piece


def test_the_same_tap_sent_twice_puts_in_one_piece(at_rack, oak):
    first, second = put_in(at_rack, oak), put_in(at_rack, oak)
    assert first.url == second.url
    assert Piece.objects.count() == 1


def test_the_next_one_begins_with_the_same_material_and_place(at_rack, oak):
    place = make_place()
    answer = put_in(at_rack, oak, place=place.pk, do="next")
    form = at_rack.get(answer.url).context["form"]
    assert str(form["material"].value()) == str(oak.pk)
    assert str(form["place"].value()) == str(place.pk)
    assert form["key"].value() != "tap-1"


def test_flaws_are_kept_and_empty_rows_are_none(at_rack, oak):
    flaw = {"flaws-1-x": "30", "flaws-1-y": "0", "flaws-1-length": "10", "flaws-1-width": "2"}
    put_in(at_rack, oak, **flaw, **{"flaws-1-why": "dent"})
    assert [(f.x, f.y, f.length, f.width, f.why) for f in Piece.objects.get().flaws.all()] == [
        (inches(30), 0, inches(10), inches(2), "dent")
    ]


def test_a_flaw_beside_the_piece_is_refused_and_comes_back_as_typed(at_rack, oak):
    flaw = {"flaws-0-x": "35", "flaws-0-y": "0", "flaws-0-length": "10", "flaws-0-width": "2"}
    answer = put_in(at_rack, oak, **flaw)
    assert answer.status_code == 422
    assert "Flaw 1 is not within the piece" in answer.content.decode()
    assert fields_on(answer)["flaws-0-x"] == "35"
    assert not Piece.objects.exists()


@pytest.mark.parametrize(
    ("name", "typed", "why"),
    [
        ("length", "long", "is not a length"),
        ("width", "", "required"),
        ("width", "0", "is not above zero"),
        ("material", "", "required"),
        ("material", "999999", "valid choice"),
        ("kind", "door", "valid choice"),
        ("place", "999999", "valid choice"),
        ("flaws-0-width", "2 x", "is not a length"),
    ],
)
def test_what_can_not_be_read_comes_back_as_typed_with_a_sentence(at_rack, oak, name, typed, why):
    answer = at_rack.post(reverse("put-in"), {**sent(oak, note="keep this"), name: typed})
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert fields_on(answer)["note"] == "keep this"
    if name not in ("material", "kind", "place"):
        assert fields_on(answer)[name] == typed
    assert not Piece.objects.exists()


def test_a_kind_that_does_not_go_with_its_material_is_refused_in_the_form(at_rack, oak):
    answer = put_in(at_rack, oak, kind="board")
    assert answer.status_code == 422
    assert "can&#x27;t be of it" in answer.content.decode()


def test_the_bench_sees_no_value_and_can_not_send_one(at_rack, oak):
    assert "worth" not in at_rack.get(reverse("put-in")).content.decode()
    put_in(at_rack, oak, value="500")
    assert Piece.objects.get().value == 0


def test_the_buyer_may_say_what_a_piece_is_worth(at_desk, oak):
    put_in(at_desk, oak, value="12.50")
    assert Piece.objects.get().value == Decimal("12.50")


def test_a_metric_shop_types_millimetres(at_rack, oak):
    Shop.objects.update(unit="mm")
    put_in(at_rack, oak, length="1028.7", width="22 in")
    assert (Piece.objects.get().length, Piece.objects.get().width) == (inches("40 1/2"), inches(22))


def test_what_is_no_longer_kept_is_not_offered(at_rack, oak):
    make_material("teak ply", retired=True)
    page = at_rack.get(reverse("put-in")).content.decode()
    assert "white oak ply 3/4" in page
    assert "teak ply" not in page
