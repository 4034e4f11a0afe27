"""A scan asks little of the database, however much there is of the piece and of the shop."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import sawing
from inventory.models import Flaw, Photo, Piece
from inventory.sawing import rectangles_of_l
from jobs import holding, making
from shared.measure import inches
from shared.models import Person
from tests.factories import make_job, make_offcut, make_part, make_place, make_sheet
from tests.jobs.refusing import accepted_plan
from tests.pages import words_of

MOST_QUERIES = 9


@pytest.fixture
def phone(owner: Person) -> Client:
    """Someone at the rack of a shop with places and jobs to choose from."""
    for number in range(30):
        make_place(f"Bay {number}")
        make_job(f"Commission {number}")
    phone = Client()
    phone.force_login(owner)
    return phone


def marked(piece: Piece, by: Person) -> Piece:
    """With flaws and photos, as many as one keeps."""
    for number in range(5):
        Flaw.objects.create(piece=piece, x=inches(number), y=0, length=inches("1/2"), width=inches(1))
        Photo.objects.create(piece=piece, file=f"{piece.code}-{number}.jpg", width=8, height=6, by=by)
    return piece


def of_an_l(by: Person) -> Piece:
    """One of an L's rectangles, on the rack and free."""
    shape = rectangles_of_l(
        length=inches(90), width=inches(48), gone_length=inches(60), gone_width=inches(24), kerf=0
    )
    return sawing.cut_up(piece=make_sheet(by=by), left=shape, parts_area=0, by=by).offcuts[0]


def held_by_a_plan(by: Person) -> Piece:
    """Named by the layout of an accepted plan."""
    sheet, job = make_sheet(by=by), make_job()
    make_part(job, material=sheet.material)
    accepted_plan(job, by)
    assert sheet.layouts.exists()
    return sheet


def held_and_of_an_l(by: Person) -> Piece:
    piece = of_an_l(by)
    holding.hold(piece=piece, job=make_job(), by=by)
    return piece


def used(by: Person) -> Piece:
    """Gone, with offcuts left from it."""
    piece = of_an_l(by)
    assert piece.parent
    return piece.parent


def pulled(by: Person) -> Piece:
    piece = held_by_a_plan(by)
    making.pull(piece=piece, by=by)
    return piece


@pytest.mark.parametrize("made", [make_offcut, of_an_l, held_by_a_plan, held_and_of_an_l, used, pulled])
@pytest.mark.parametrize("name", ["scanned", "piece"])
def test_a_scan_asks_fewer_than_ten_times(phone: Client, owner: Person, made: Callable, name: str):
    piece = marked(made(by=owner), owner)
    with CaptureQueriesContext(connection) as asked:
        page = phone.get(reverse(name, args=[piece.code]))
    assert piece.material.name in words_of(page)
    assert page.content.count(b'<figure class="photo">') == 5
    assert len(asked) <= MOST_QUERIES, [query["sql"][:150] for query in asked]


@pytest.mark.parametrize("made", [make_offcut, of_an_l, held_by_a_plan, used, pulled])
def test_a_scan_on_the_scan_page_asks_fewer_than_ten_times(phone: Client, owner: Person, made: Callable):
    piece = marked(made(by=owner), owner)
    with CaptureQueriesContext(connection) as asked:
        page = phone.get(reverse("scan-part"), {"code": piece.code})
    assert piece.material.name in words_of(page)
    assert len(asked) <= MOST_QUERIES, [query["sql"][:150] for query in asked]
