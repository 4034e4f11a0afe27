"""Cuts, taps and scans that can't be: a sentence each, and the rack stays as it was."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inventory.models import Movement, Piece, State, Verb
from jobs import holding
from jobs.models import Job, Layout, Part, Spoiled
from tests.factories import (
    make_job,
    make_offcut,
    make_part,
    make_sheet,
)
from tests.jobs.refusing import FAR_TOO_LONG, WOULD_DO, accepted_plan, refused
from tests.pages import words_of

pytestmark = pytest.mark.django_db


# ---- cutting without a plan ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"left_length_0": "41", "left_width_0": "10"}, "An offcut of 41 × 10 can't be left from"),
        ({"left_length_0": "20", "left_width_0": "41"}, "An offcut of 20 × 41 can't be left from"),
        ({"left_length_0": "12"}, "Offcut 1 needs both its length and its width."),
        ({"left_width_3": "12"}, "Offcut 4 needs both its length and its width."),
        ({"left_length_0": "1/0", "left_width_0": "4"}, f'"1/0" divides by zero. {WOULD_DO}'),
        ({"left_length_0": "0", "left_width_0": "4"}, f'"0" is not above zero. {WOULD_DO}'),
        ({"left_length_0": "-3", "left_width_0": "4"}, f'"-3" is below zero. {WOULD_DO}'),
        ({"left_length_0": "1e9", "left_width_0": "4"}, f'"1e9" is not a length. {WOULD_DO}'),
        ({"left_length_0": FAR_TOO_LONG, "left_width_0": "4"}, "Ensure this value has at most 60 characters"),
        ({"taken_length_0": "20"}, "What was taken (1) needs both its length and its width."),
        (
            {"count_0": "0", "taken_length_0": "2", "taken_width_0": "2"},
            "Write a whole number from 1 to 9999.",
        ),
        (
            {"count_0": "1e9", "taken_length_0": "2", "taken_width_0": "2"},
            "Write a whole number from 1 to 9999.",
        ),
        (
            {"count_0": FAR_TOO_LONG, "taken_length_0": "2", "taken_width_0": "2"},
            "Write a whole number from 1 to 9999.",
        ),
        (
            {"count_0": "99", "taken_length_0": "20", "taken_width_0": "9"},
            "Parts and offcuts together are more",
        ),
        ({"taken_length_0": "80", "taken_width_0": "2"}, "A part of 80 × 2 can't be taken from"),
        ({"count_0": "2"}, "What was taken (1) needs both its length and its width."),
        ({"job": "nope"}, "For: Select a valid choice."),
        ({"note": "n" * 201}, "Note: Ensure this value has at most 200 characters (it has 201)."),
    ],
)
def test_a_cut_that_can_not_have_been_is_refused_and_the_piece_stays(post, owner, ply, typed, sentence):
    offcut = make_offcut(by=owner, material=ply, length="40", width="20", value="9.00")
    before = Movement.objects.count()
    page = post("cut", offcut.code, **typed)
    refused(page, 422, sentence)
    for name, text in typed.items():
        assert page.context["form"][name].value() == text
    offcut.refresh_from_db()
    assert (offcut.state, offcut.value, Movement.objects.count()) == (State.ON_RACK, Decimal("9.00"), before)


def test_a_piece_is_cut_up_once(post, owner, ply):
    offcut = make_offcut(by=owner, material=ply, length="40", width="20")
    left = {"left_length_0": "20", "left_width_0": "20"}
    for _ in range(2):
        assert post("cut", offcut.code, key="the same tap", **left).status_code == 302
    assert Piece.objects.filter(parent=offcut).count() == 1
    refused(post("cut", offcut.code, key="another tap", **left), 422, "is used, so it can't be cut.")
    assert Piece.objects.filter(parent=offcut).count() == 1


def test_what_another_job_holds_is_not_cut_for_this_one(post, owner, ply, job):
    offcut = make_offcut(by=owner, material=ply)
    holding.hold(piece=offcut, job=job, by=owner)
    refused(post("cut", offcut.code, job=make_job().number), 422, "For: Select a valid choice.")
    offcut.refresh_from_db()
    assert offcut.state == State.ON_RACK


# ---- cutting a layout ----------------------------------------------------------------------------------


@pytest.fixture
def layout(job, owner, ply):
    """A layout of an accepted plan, its sheet on the rack."""
    make_sheet(by=owner, material=ply)
    make_part(job, ply, quantity=2)
    return accepted_plan(job, owner).layouts.get()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"left_length_0": "97", "left_width_0": "10"}, "An offcut of 97 × 10 can't be left from"),
        ({"left_length_0": "96", "left_width_0": "48"}, "Parts and offcuts together are more than"),
        ({"left_length_0": "12"}, "Offcut 1 needs both its length and its width."),
        ({"left_length_0": "1/0", "left_width_0": "1"}, f'"1/0" divides by zero. {WOULD_DO}'),
        ({"left_length_0": "12 x", "left_width_0": "1"}, f'"12 x" is not a length. {WOULD_DO}'),
        ({"note": "n" * 201}, "Note: Ensure this value has at most 200 characters (it has 201)."),
    ],
)
def test_a_layout_is_not_cut_by_sizes_that_can_not_be(post, job, layout, typed, sentence):
    page = post("cut-layout", job.number, layout.pk, **typed)
    refused(page, 422, sentence)
    for name, text in typed.items():
        assert page.context["form"][name].value() == text
    layout.refresh_from_db()
    assert layout.state == Layout.State.TO_CUT
    assert not Movement.objects.filter(verb=Verb.CUT).exists()


def test_a_layout_is_cut_once(post, job, layout):
    for _ in range(2):
        assert post("cut-layout", job.number, layout.pk, key="the same tap").status_code == 302
    refused(post("cut-layout", job.number, layout.pk, key="another"), 422, "Layout 1 is cut already.")
    assert Part.objects.get().cut == 2
    assert Movement.objects.filter(verb=Verb.CUT).count() == 1


def test_a_layout_is_another_jobs_and_of_a_plan_that_stands(post, job, layout, owner):
    assert post("cut-layout", make_job().number, layout.pk).status_code == 404
    holding.give_up_plan(job=job, by=owner)
    refused(
        post("cut-layout", job.number, layout.pk), 422, "This layout belongs to a plan that was given up."
    )


def test_a_layout_waits_for_its_sheet(post, job, owner, ply):
    make_part(job, ply)
    layout = accepted_plan(job, owner).layouts.get()
    refused(post("cut-layout", job.number, layout.pk), 422, "The sheet for this layout has not come yet.")


@pytest.mark.parametrize(
    ("count", "sentence"),
    [
        ("0", "2 of side are cut, so 0 of them can't be spoiled."),
        ("3", "2 of side are cut, so 3 of them can't be spoiled."),
        ("-1", "“-1” is no count of spoiled parts. Write 1 or 2."),
        ("1e9", "“1e9” is no count of spoiled parts. Write 1 or 2."),
        ("one", "“one” is no count of spoiled parts. Write 1 or 2."),
        ("²", "“²” is no count of spoiled parts. Write 1 or 2."),
        ("", "“” is no count of spoiled parts. Write 1 or 2."),
        (FAR_TOO_LONG, "is no count of spoiled parts. Write 1 or 2."),
    ],
)
def test_only_as_many_are_spoiled_as_are_cut(post, job, layout, count, sentence):
    post("cut-layout", job.number, layout.pk)
    part = Part.objects.get()
    refused(post("spoil", job.number, part.pk, count=count), 409, sentence)
    assert not Spoiled.objects.exists()
    part.refresh_from_db()
    assert (part.cut, part.spoiled) == (2, 0)


def test_a_spoiling_is_counted_once_and_taken_back_once(post, job, layout):
    post("cut-layout", job.number, layout.pk)
    part = Part.objects.get()
    for _ in range(2):
        assert post("spoil", job.number, part.pk, count="1", key="k", why="w" * 500).status_code == 302
    spoiled = Spoiled.objects.get()
    assert post("unspoil", job.number, spoiled.pk).status_code == 302
    refused(post("unspoil", job.number, spoiled.pk), 409, "This is undone already.")
    part.refresh_from_db()
    assert (part.cut, part.spoiled) == (2, 0)


# ---- pieces --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", ["", "0", "987654", "-1", "²", "bay", FAR_TOO_LONG])
def test_a_piece_moves_to_a_place_that_is_there(post, owner, place):
    offcut = make_offcut(by=owner)
    refused(post("move", offcut.code, place=place), 409, "Choose the place it goes to.")
    assert not Movement.objects.filter(verb=Verb.MOVE).exists()


@pytest.mark.parametrize("name", ["put-back", "find"])
def test_what_was_not_taken_is_not_put_back_and_what_is_there_not_found(post, owner, name):
    offcut = make_offcut(by=owner)
    refused(post(name, offcut.code, place="²"), 409, "is on the rack, so it can't be")
    assert Movement.objects.count() == 1


@pytest.mark.parametrize("name", ["pull", "cut", "scrap", "lose", "put-back", "hold", "release", "move"])
def test_nothing_is_done_with_a_piece_that_is_gone(post, owner, job, name):
    offcut = make_offcut(by=owner)
    post("scrap", offcut.code, why="w" * 500)
    page = post(name, offcut.code, job=job.number if name == "hold" else "", place="1")
    assert page.status_code in (409, 422, 302)
    offcut.refresh_from_db()
    assert offcut.state == State.SCRAPPED
    assert Movement.objects.count() == 2


@pytest.mark.parametrize("number", ["", "nope", "26-041/..", "x" * 5_000])
def test_a_piece_is_held_for_a_job_that_is_open(post, owner, job, number):
    offcut = make_offcut(by=owner)
    assert post("hold", offcut.code, job=number).status_code == 404
    Job.objects.update(state=Job.State.DONE)
    refused(post("hold", offcut.code, job=job.number), 409, "so nothing is held for it. Open it again first.")
    assert not offcut.movements.filter(verb=Verb.HOLD).exists()


@pytest.mark.parametrize(
    "back",
    [
        "https://evil.example/",
        "//evil.example",
        "/jobs/../../evil",
        "/jobs//evil",
        "javascript:alert(1)",
        "/jobs/\r\nX: y",
        "jobs/",
        "\\\\evil.example",
    ],
)
def test_after_a_pull_one_stays_in_the_shop(post, owner, back):
    answer = post("pull", make_offcut(by=owner).code, next=back)
    assert answer.status_code == 302
    assert answer.url.startswith(("/jobs/", "/stock/"))
    assert "\n" not in answer.url


def test_a_movement_is_undone_once(post, owner):
    offcut = make_offcut(by=owner)
    post("pull", offcut.code)
    pulled = Movement.objects.get(verb=Verb.PULL)
    for _ in range(2):
        assert post("undo", pulled.pk, key="the same tap").status_code == 302
    refused(post("undo", pulled.pk, key="another tap"), 409, "This is undone already.")
    undoing = Movement.objects.get(verb=Verb.UNDO)
    refused(post("undo", undoing.pk), 409, "can't be undone. Do what you need anew.")
    offcut.refresh_from_db()
    assert offcut.state == State.ON_RACK


def test_what_something_stands_on_is_not_undone(post, owner):
    offcut = make_offcut(by=owner)
    post("pull", offcut.code)
    refused(post("undo", offcut.movements.get(verb=Verb.PUT_IN).pk), 409, "Undo that first.")


# ---- what was scanned or typed -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("K7M-2Q", '"K7M-2Q" has 5 characters, a code has 6.'),
        ("123456789", '"123456789" has 9 characters, a code has 6.'),
        ("?K7M-1", '"?K7M-1" has signs that are in no code.'),
        ("http://[::1", "is not an address on a label."),
        ("9" * 10_000, "a code has 6."),
    ],
)
def test_what_is_no_code_is_shown_as_typed_and_said_why(desk, typed, sentence):
    page = desk.get(reverse("scan-find"), {"code": typed})
    assert page.status_code == 404
    assert sentence in words_of(page)
    assert len(page.content) < 50_000


@pytest.mark.parametrize("name", ["scan-find", "stock", "scan-part"])
def test_a_nul_in_what_is_looked_for_is_refused(desk, name):
    page = desk.get(reverse(name), {"code": "K7M2Q8\0", "after": "\0"})
    refused(page, 400, "a sign that no keyboard types")


def test_a_nul_in_an_address_or_a_form_without_fields_is_refused(desk, post, owner):
    assert desk.get("/stock/a%00b").status_code == 404
    assert desk.post("/stock/a%00b/photos").status_code == 404
    offcut = make_offcut(by=owner)
    refused(post("scrap", offcut.code, why="split\0"), 409, "a sign that no keyboard types")
    offcut.refresh_from_db()
    assert offcut.state == State.ON_RACK


def test_a_foreign_label_leads_to_no_foreign_page(desk):
    for typed in ("https://evil.example/s/K7M2Q8", "HTTPS://EVIL.EXAMPLE/S/K7M2Q8"):
        page = desk.get(reverse("scan-find"), {"code": typed}, follow=True)
        assert [url for url, _ in page.redirect_chain] == ["/s/K7M2Q8"]
        refused(page, 404, "No label here has the code K7M-2Q8. Was it printed by another shop?")


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "   ",
        "maple ply",
        "https://shop.example/s/",
        "javascript:alert",
        "//evil.example",
        "é" * 10_000,
    ],
)
def test_words_go_to_the_stock_search_of_this_shop(desk, typed):
    answer = desk.get(reverse("scan-find"), {"code": typed})
    assert answer.status_code in (302, 404)
    assert answer.status_code == 404 or answer.url.startswith("/stock?q=")
    if answer.status_code == 302:
        assert desk.get(answer.url).status_code in (200, 422)
