"""What a scanned code opens, and what the scan page shows of it."""

import pytest
from django.test import Client
from django.urls import reverse

from inventory import handling
from jobs import holding, scanning
from jobs.models import Layout, Plan
from shared.codes import code_for, grouped
from shared.measure import inches
from shared.models import Shop
from tests.factories import (
    make_job,
    make_material,
    make_offcut,
    make_part,
    make_person,
    make_place,
    make_sheet,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(db):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    return make_person("bench")


@pytest.fixture
def at_rack(bench):
    browser = Client()
    browser.force_login(bench)
    return browser


def part_of_scan_page(browser, code, **others):
    return browser.get(reverse("scan-part"), {"code": code, **others})


def test_one_address_opens_pieces_places_parts_and_goods(at_rack, bench):
    piece, place = make_offcut(by=bench), make_place()
    part = make_part(make_job(), make_material())
    goods = make_material("Hinge", kind="goods", code=code_for(500))
    assert at_rack.get(f"/S/{piece.code}").status_code == 200
    assert at_rack.get(f"/s/{place.code}").url == f"/stock?place={place.pk}"
    assert at_rack.get(f"/S/{part.code}").url == f"/jobs/{part.job.number}/parts/{part.pk}"
    assert at_rack.get(f"/S/{goods.code}").url == reverse("shelf", args=[goods.pk])


def test_a_wrong_sign_in_a_code_is_said(at_rack, bench):
    code = make_offcut(by=bench).code
    wrong = code[:-1] + ("2" if code[-1] != "2" else "3")
    answer = part_of_scan_page(at_rack, wrong)
    assert answer.status_code == 404
    assert "wrong character" in answer.content.decode()


def test_a_code_nobody_knows_is_said(at_rack):
    answer = part_of_scan_page(at_rack, code_for(900))
    assert answer.status_code == 404
    assert f"No label here has the code {grouped(code_for(900))}" in answer.content.decode()


def test_a_piece_on_the_rack_is_offered_to_be_pulled_first(at_rack, bench):
    piece = make_offcut(by=bench, place=make_place("Bay A1"))
    page = part_of_scan_page(at_rack, piece.code).content.decode()
    assert "Bay A1" in page
    assert page.index("button-main") < page.index("Pull it") < page.index("All about it")


def test_a_place_scanned_after_a_pulled_piece_takes_it_back(at_rack, bench):
    piece, place = make_offcut(by=bench), make_place("Bay A1")
    handling.pull(piece=piece, by=bench)
    page = part_of_scan_page(at_rack, place.code, after=piece.code).content.decode()
    assert reverse("put-back", args=[piece.code]) in page
    assert "back here" in page
    at_rack.post(reverse("put-back", args=[piece.code]), {"place": place.pk, "key": "k1"})
    piece.refresh_from_db()
    assert piece.place == place


def test_a_place_scanned_after_a_piece_on_the_rack_takes_it_in(at_rack, bench):
    piece, place = make_offcut(by=bench, place=make_place()), make_place("Bay B2")
    page = part_of_scan_page(at_rack, place.code, after=piece.code).content.decode()
    assert reverse("move", args=[piece.code]) in page


@pytest.fixture
def planned(bench):
    """A job whose accepted plan is cut from one sheet, and another sheet of the same material."""
    material, job = make_material(), make_job()
    named, other = (make_sheet(by=make_person("buyer"), material=material) for _ in range(2))
    plan = Plan.objects.create(job=job, state="accepted", asked_by=bench)
    Layout.objects.create(
        plan=plan,
        position=1,
        stock_id=named.code,
        piece=named,
        material=material,
        length=inches(96),
        width=inches(48),
        tree={},
    )
    holding.hold(piece=named, job=job, by=bench)
    return job, named, other


def test_in_a_round_for_a_job_the_right_piece_is_pulled(at_rack, planned):
    job, named, _ = planned
    page = part_of_scan_page(at_rack, named.code, job=job.number).content.decode()
    assert "Not this one" not in page
    assert f"Pull for {job.number}" in page


def test_in_a_round_for_a_job_a_wrong_piece_says_what_would_do_instead(at_rack, planned):
    job, named, other = planned
    page = part_of_scan_page(at_rack, other.code, job=job.number).content.decode()
    assert "Not this one" in page
    assert named.code[:3] in page.partition("take:")[2]
    assert "button-main" not in page


def test_a_round_is_over_when_all_is_pulled(at_rack, planned, bench):
    job, named, _ = planned
    assert [layout.piece for layout in scanning.to_pull(job)] == [named]
    at_rack.post(reverse("pull", args=[named.code]), {"key": "k"})
    assert scanning.to_pull(job) == []
    assert "Nothing is left to pull" in at_rack.get(reverse("scan"), {"job": job.number}).content.decode()


def test_who_is_not_signed_in_sees_nothing(bench):
    piece = make_offcut(by=bench)
    assert part_of_scan_page(Client(), piece.code).status_code == 302


def test_only_the_scan_page_lets_the_decoder_run(at_rack):
    policy = at_rack.get(reverse("scan"))["Content-Security-Policy"]
    assert "script-src 'self' 'wasm-unsafe-eval'" in policy
    assert "wasm" not in at_rack.get(reverse("stock"))["Content-Security-Policy"]
