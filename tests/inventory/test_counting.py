"""Counting rounds against racks with planted errors."""

import random
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from inventory import counting, handling
from inventory.models import Count, CountLine, LabelToPrint, Movement, State
from shared import codes
from shared.refusal import Refused
from tests.factories import make_material, make_place, make_sheet, make_sheets

pytestmark = pytest.mark.django_db


@pytest.fixture
def place():
    return make_place("Bay A1")


@pytest.fixture
def count(place, bench):
    return counting.begin(place=place, by=bench)


def see(count, bench, *pieces):
    for piece in pieces:
        counting.note(count=count, code=piece.code, by=bench)


def codes_of(differences):
    return {one.code for one in differences}


def test_a_thousand_pieces_with_twenty_errors(buyer, bench):
    """Five of each: gone, in the wrong place, written off but there, and labels nobody knows."""
    places = [make_place() for _ in range(10)]
    material = make_material()
    pieces = []
    for place in places:
        pieces += make_sheets(100, by=buyer, material=material, place=place)
    shuffled = random.Random(29)
    chosen = shuffled.sample(pieces, 15)
    gone, moved, written_off = chosen[:5], chosen[5:10], chosen[10:]
    for piece in written_off:
        handling.lose(piece=piece, by=buyer)
    count = counting.begin(place=None, by=bench)
    unknown = [codes.code_for(1_000_000 + n) for n in range(5)]
    for number, place in enumerate(places):
        here = [piece for piece in pieces if piece.place_id == place.pk and piece not in moved]
        here += [piece for piece in moved if places[number - 1].pk == piece.place_id]
        here += written_off[number : number + 1] if number < 5 else []
        for piece in here:
            if piece not in gone:
                counting.note(count=count, code=piece.code, by=bench, place=place)
    for code in unknown:
        counting.note(count=count, code=code, by=bench)
    found = counting.differences(count)
    assert codes_of(found.missing) == codes_of(gone)
    assert codes_of(found.out_of_place) == codes_of([*moved, *written_off])
    assert codes_of(found.unknown) == set(unknown)
    changes = counting.changes(found, {})
    assert sum(change.value for change in changes) == Decimal("0.00")  # five lost, five found, all alike
    counting.post(count=count, chosen={change.difference.code: change.do for change in changes}, by=bench)
    again = counting.begin(place=None, by=bench)
    assert again != count
    for piece in moved:
        was_in = places.index(piece.place)
        piece.refresh_from_db()
        assert piece.place == places[(was_in + 1) % 10]
        assert Movement.objects.filter(piece=piece, verb="move").count() == 1


def test_all_as_it_should_be_is_no_difference(count, place, buyer, bench):
    see(count, bench, make_sheet(by=buyer, place=place))
    assert counting.differences(count).all == []


def test_what_came_after_the_round_began_is_not_missing(count, place, buyer):
    make_sheet(by=buyer, place=place)
    assert counting.differences(count).missing == []


def test_a_place_is_counted_with_all_within_it(buyer, bench):
    bay, shelf = make_place("Bay"), make_place("Shelf")
    shelf.within = bay
    shelf.save()
    piece = make_sheet(by=buyer, place=shelf)
    count = counting.begin(place=bay, by=bench)
    assert codes_of(counting.differences(count).missing) == {piece.code}
    see(count, bench, piece)
    assert counting.differences(count).all == []


def test_a_label_seen_twice_counts_once(count, place, buyer, bench):
    piece = make_sheet(by=buyer, place=place)
    see(count, bench, piece, piece)
    assert count.lines.count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        CountLine.objects.create(count=count, code=piece.code, by=bench)


def test_what_is_pulled_but_lies_there_is_put_back(place, buyer, bench):
    piece = make_sheet(by=buyer, place=make_place())
    handling.pull(piece=piece, by=bench)
    count = counting.begin(place=place, by=bench)
    see(count, bench, piece)
    counting.post(count=count, chosen={piece.code: "put back"}, by=bench)
    piece.refresh_from_db()
    assert (piece.state, piece.place) == (State.ON_RACK, place)


def test_a_missing_piece_whose_label_is_unreadable_gets_a_new_one(place, buyer, bench):
    piece = make_sheet(by=buyer, place=place)
    LabelToPrint.objects.all().delete()
    count = counting.begin(place=place, by=bench)
    counting.post(count=count, chosen={piece.code: "label"}, by=bench)
    assert LabelToPrint.objects.get().piece == piece
    piece.refresh_from_db()
    assert piece.state == State.ON_RACK


def test_losses_take_their_value_off_the_rack(place, buyer, bench):
    piece = make_sheet(by=buyer, place=place, price="92.00")
    count = counting.begin(place=place, by=bench)
    (change,) = counting.changes(counting.differences(count), {})
    assert (change.do, change.value) == ("lose", Decimal("-92.00"))
    counting.post(count=count, chosen={piece.code: "lose"}, by=bench)
    piece.refresh_from_db()
    assert (piece.state, piece.value) == (State.LOST, 0)


def test_a_round_is_posted_once(place, buyer, bench):
    piece = make_sheet(by=buyer, place=place)
    count = counting.begin(place=place, by=bench)
    counting.post(count=count, chosen={piece.code: "lose"}, by=bench)
    with pytest.raises(Refused, match="was posted by"):
        counting.post(count=count, chosen={piece.code: "lose"}, by=bench)
    with pytest.raises(Refused, match="was posted by"):
        counting.note(count=count, code=piece.code, by=bench)
    assert Movement.objects.filter(verb="lose").count() == 1


def test_only_what_was_shown_and_chosen_is_done(place, buyer, bench):
    make_sheet(by=buyer, place=place)
    count = counting.begin(place=place, by=bench)
    counting.post(count=count, chosen={}, by=bench)
    assert not Movement.objects.filter(verb="lose").exists()


def test_the_database_keeps_who_posted(count):
    with pytest.raises(IntegrityError), transaction.atomic():
        Count.objects.filter(pk=count.pk).update(posted_at="2026-11-25T12:00Z")


# ---- the pages --------------------------------------------------------------------------------------------


def test_a_round_on_the_pages(at_rack, at_desk, place, buyer):
    missing, there = make_sheets(2, by=buyer, place=place)
    at_rack.post(reverse("count-begin"), {"place": place.pk})
    count = Count.objects.get()
    at_rack.post(reverse("count-note", args=[count.pk]), {"code": there.code})
    page = at_rack.get(reverse("count", args=[count.pk])).content.decode()
    assert "1 of 2" in page
    page = at_rack.get(reverse("count-differences", args=[count.pk])).content.decode()
    assert missing.code[:3] in page
    assert "$" not in page
    chosen = {f"do-{missing.code}": "lose"}
    checked = at_desk.get(reverse("count-check", args=[count.pk]), chosen).content.decode()
    assert "$92.00</strong> less" in checked
    missing.refresh_from_db()
    assert missing.state == State.ON_RACK
    for _ in range(2):
        at_rack.post(reverse("count-post", args=[count.pk]), {**chosen, "key": "k"})
    assert Movement.objects.filter(verb="lose").count() == 1


def test_a_choice_that_can_not_be_is_refused(at_rack, count, place, buyer, bench):
    see(count, bench, make_sheet(by=buyer))
    code = count.lines.get().code
    answer = at_rack.post(reverse("count-post", args=[count.pk]), {f"do-{code}": "lose"})
    assert answer.status_code == 409


def test_a_wrong_code_in_a_round_is_said(at_rack, count):
    answer = at_rack.post(reverse("count-note", args=[count.pk]), {"code": "nothing"})
    assert answer.status_code == 409
    assert not count.lines.exists()


@pytest.mark.parametrize("name", ["count-begin", "count-note", "count-post"])
def test_opening_an_address_counts_nothing(at_rack, count, name):
    args = [] if name == "count-begin" else [count.pk]
    assert at_rack.get(reverse(name, args=args)).status_code == 405
