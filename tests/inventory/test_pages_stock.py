"""The stock page: finding pieces, and what is done with several of them."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import handling
from inventory.models import Movement, Piece, Verb
from jobs import holding
from tests.factories import make_job, make_material, make_offcut, make_place

pytestmark = pytest.mark.django_db


def shown(answer):
    return answer.content.decode()


def codes_on(answer):
    return [piece.code for piece in answer.context["page"]]


def test_the_page_shows_where_a_piece_is_how_large_and_whose(at_rack, bench):
    place, job = make_place("Bay A1"), make_job(number="26-041")
    oak = make_material("white oak ply 3/4")
    piece = make_offcut(by=bench, material=oak, length="40 1/2", width="22", place=place)
    holding.hold(piece=piece, job=job, by=bench)
    page = shown(at_rack.get(reverse("stock")))
    assert "Bay A1" in page
    assert "26-041" in page
    assert f"{piece.code[:3]}-{piece.code[3:]}" in page
    assert "<sup>1</sup>" in page
    assert "1 piece<" in page


def test_an_empty_rack_says_what_to_do_first(at_rack):
    assert "Put in the offcuts you have" in shown(at_rack.get(reverse("stock")))


def test_a_question_without_an_answer_shows_the_way_back(at_rack, bench):
    make_offcut(by=bench)
    assert "Ask for less" in shown(at_rack.get(reverse("stock"), {"length": "500"}))


def test_a_size_that_can_not_be_read_comes_back_as_typed(at_rack, bench):
    make_offcut(by=bench)
    answer = at_rack.get(reverse("stock"), {"length": "23 1/2 x"})
    assert answer.status_code == 422
    assert 'value="23 1/2 x"' in shown(answer)
    assert "is not a length" in shown(answer)
    assert codes_on(answer) == []


@pytest.mark.parametrize("written", ["{0}", "{1}", " {2} ", "HTTP://LOCALHOST:8000/S/{0}"])
def test_a_whole_code_goes_straight_to_its_piece(at_rack, bench, written):
    code = make_offcut(by=bench).code
    typed = written.format(code, f"{code[:3]}-{code[3:]}", code.lower())
    answer = at_rack.get(reverse("stock"), {"q": typed})
    assert answer.status_code == 302
    assert answer.url == reverse("piece", args=[code])


def test_fifty_pieces_are_on_a_page_and_the_rest_on_the_next(at_rack, bench):
    oak = make_material()
    for _ in range(52):
        make_offcut(by=bench, material=oak)
    first = at_rack.get(reverse("stock"), {"material": oak.pk})
    assert len(codes_on(first)) == 50
    assert f"material={oak.pk}&amp;page=2" in shown(first)
    assert len(codes_on(at_rack.get(reverse("stock"), {"material": oak.pk, "page": "2"}))) == 2
    assert len(codes_on(at_rack.get(reverse("stock"), {"page": "many"}))) == 50


def queries_of(client, query):
    with CaptureQueriesContext(connection) as asked:
        assert client.get(reverse("stock"), query).status_code == 200
    return len(asked)


@pytest.mark.parametrize("query", [{}, {"length": "10", "width": "5", "q": "sheet"}, {"sort": "place"}])
def test_a_longer_list_asks_the_database_no_more_often(at_desk, buyer, query):
    def add(count):
        for _ in range(count):
            piece = make_offcut(by=buyer, place=make_place())
            holding.hold(piece=piece, job=make_job(), by=buyer)

    add(3)
    at_three = queries_of(at_desk, query)
    add(27)
    assert queries_of(at_desk, query) == at_three
    assert at_three < 10


# ---- several at once --------------------------------------------------------------------------------------


def choose(client, *pieces, **others):
    return client.post(reverse("stock-chosen"), {"code": [piece.code for piece in pieces], **others})


def test_ticked_pieces_are_moved_together(at_rack, bench):
    there, here, elsewhere = make_place(), make_place(), make_place()
    ticked = [make_offcut(by=bench, place=there) for _ in range(2)]
    other = make_offcut(by=bench, place=there)
    answer = choose(at_rack, *ticked, do="move", place=here.pk, key="k1", back=f"place={there.pk}")
    assert answer.status_code == 302
    assert answer.url == f"{reverse('stock')}?place={there.pk}"
    assert set(Piece.objects.filter(place=here)) == set(ticked)
    assert Piece.objects.get(pk=other.pk).place == there
    assert not elsewhere.pieces.exists()


def test_the_same_move_sent_twice_counts_once(at_rack, bench):
    here, elsewhere = make_place(), make_place()
    piece = make_offcut(by=bench)
    choose(at_rack, piece, do="move", place=here.pk, key="k1")
    handling.move(piece=piece, place=elsewhere, by=bench)
    choose(at_rack, piece, do="move", place=here.pk, key="k1")
    assert Piece.objects.get(pk=piece.pk).place == elsewhere
    assert Movement.objects.filter(piece=piece, verb=Verb.MOVE).count() == 2


def test_what_is_at_the_place_already_stays_without_a_word(at_rack, bench):
    here = make_place()
    there_already, moved = make_offcut(by=bench, place=here), make_offcut(by=bench)
    answer = choose(at_rack, there_already, moved, do="move", place=here.pk, key="k1")
    assert "1 piece is in" in shown(at_rack.get(answer.url))
    assert not Movement.objects.filter(piece=there_already, verb=Verb.MOVE).exists()


def test_where_one_is_not_on_the_rack_none_is_moved(at_rack, bench):
    here = make_place()
    on_rack, gone = make_offcut(by=bench), make_offcut(by=bench)
    handling.scrap(piece=gone, by=bench)
    answer = choose(at_rack, on_rack, gone, do="move", place=here.pk, key="k1")
    assert answer.status_code == 409
    assert "scrapped" in shown(answer)
    assert not here.pieces.exists()


@pytest.mark.parametrize("place", ["", "999999", "nowhere"])
def test_a_move_needs_a_place(at_rack, bench, place):
    piece = make_offcut(by=bench, place=make_place())
    answer = choose(at_rack, piece, do="move", place=place, key="k1")
    assert answer.status_code == 409
    assert "Choose the place" in shown(answer)
    assert Piece.objects.get(pk=piece.pk).place == piece.place


def test_nothing_ticked_is_said_in_a_sentence(at_rack):
    answer = at_rack.post(reverse("stock-chosen"), {"do": "labels"})
    assert answer.status_code == 409
    assert "No piece is ticked" in shown(answer)


def test_labels_of_the_ticked_are_shown_to_be_printed(at_rack, bench):
    ticked = [make_offcut(by=bench) for _ in range(2)]
    make_offcut(by=bench)
    answer = choose(at_rack, *ticked, do="labels")
    assert {face.code for face in at_rack.get(answer.url).context["faces"]} == {p.code for p in ticked}
