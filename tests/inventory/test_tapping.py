"""What a phone is answered for a tap that it kept: done, refused for good, or to be kept on."""

import json

import pytest
from django.test import Client
from django.urls import reverse

from inventory import handling
from inventory.models import Movement, Piece
from shared.models import Person
from tests.factories import make_offcut, make_place, make_sheet

pytestmark = pytest.mark.django_db

AS_JSON = {"HTTP_ACCEPT": "application/json"}


def send(browser, name, piece, **sent):
    return browser.post(reverse(name, args=[piece.code]), sent, **AS_JSON)


def test_a_tap_that_is_done_says_so_and_where_to_go(at_rack, buyer):
    piece = make_offcut(by=buyer)
    answer = send(at_rack, "pull", piece, key="k1")
    assert answer.status_code == 200
    assert answer.json()["ok"] is True
    assert "is pulled" in answer.json()["sentence"]
    assert answer.json()["next"] == reverse("piece", args=[piece.code])


def test_the_same_tap_sent_twice_counts_once_and_is_well_both_times(at_rack, buyer):
    piece = make_offcut(by=buyer)
    answers = [send(at_rack, "pull", piece, key="k1").json() for _ in range(2)]
    assert [answer["ok"] for answer in answers] == [True, True]
    assert Movement.objects.filter(verb="pull").count() == 1


def test_a_cut_whose_answer_was_lost_names_its_labels_again(at_rack, buyer):
    piece = make_sheet(by=buyer)
    sent = {"left_length_0": "40", "left_width_0": "20", "key": "k2"}
    send(at_rack, "cut", piece, **sent)
    said = send(at_rack, "cut", piece, **sent).json()
    offcut = Piece.objects.get(parent=piece)
    assert said["ok"]
    assert f"{offcut.code[:3]}-{offcut.code[3:]}" in said["sentence"]
    assert Piece.objects.filter(parent=piece).count() == 1


def test_what_someone_else_did_meanwhile_is_told(at_rack, at_desk, buyer):
    piece = make_offcut(by=buyer)
    Person.objects.filter(pk=buyer.pk).update(first_name="Hazel")
    handling.scrap(piece=piece, by=Person.objects.get(pk=buyer.pk))
    answer = send(at_rack, "pull", piece, key="k3")
    assert answer.status_code == 409
    assert answer.json()["ok"] is False
    assert "scrapped by Hazel" in answer.json()["sentence"]


def test_a_cut_filled_in_wrongly_is_refused_as_a_form(at_rack, buyer):
    answer = send(at_rack, "cut", make_sheet(by=buyer), left_length_0="40 x", left_width_0="20", key="k4")
    assert answer.status_code == 422
    assert "40 x" in answer.json()["sentence"]


def test_a_piece_that_is_not_there_settles_the_tap(at_rack):
    answer = at_rack.post("/stock/JKXXQM/pull", {"key": "k5"}, **AS_JSON)
    assert answer.status_code == 404
    assert answer.json()["ok"] is False


def test_who_is_signed_out_is_told_so_and_nothing_is_settled(buyer):
    answer = send(Client(), "pull", make_offcut(by=buyer), key="k6")
    assert answer.status_code == 401
    assert "ok" not in answer.json()


def test_a_stale_token_settles_nothing(bench, buyer):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(bench)
    answer = send(browser, "pull", make_offcut(by=buyer), key="k7")
    assert answer.status_code == 403
    assert not answer["Content-Type"].startswith("application/json")


def test_a_fresh_token_says_whose_phone_it_is(at_rack, bench):
    said = at_rack.get(reverse("tap-token"), **AS_JSON).json()
    assert said["person"] == str(bench.pk)
    assert said["token"]
    assert Client().get(reverse("tap-token"), **AS_JSON).status_code == 401


def test_a_plain_form_is_answered_as_ever(at_rack, buyer):
    piece = make_offcut(by=buyer)
    answer = at_rack.post(reverse("pull", args=[piece.code]), {"key": "k8"})
    assert (answer.status_code, answer.url) == (302, reverse("piece", args=[piece.code]))


def test_a_tap_answered_as_json_leaves_no_message_behind(at_rack, buyer):
    piece, place = make_offcut(by=buyer), make_place()
    send(at_rack, "move", piece, place=place.pk, key="k9")
    assert "is in" not in at_rack.get(reverse("stock")).content.decode()


@pytest.mark.parametrize("name", ["service-worker", "manifest", "offline"])
def test_what_makes_it_an_app_is_there_without_signing_in(name, db):
    assert Client().get(reverse(name)).status_code == 200


def test_the_manifest_names_icons_that_are_there(db):
    from django.contrib.staticfiles import finders

    icons = json.loads(Client().get(reverse("manifest")).content)["icons"]
    assert {icon["purpose"] for icon in icons} == {"any", "maskable"}
    assert all(finders.find(icon["src"].removeprefix("/static/")) for icon in icons)


def test_all_that_the_worker_keeps_is_there(db):
    from django.contrib.staticfiles import finders

    from shared.views.phone import SHELL

    assert [name for name in SHELL if not finders.find(name)] == []
