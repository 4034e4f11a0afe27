"""Labels for the parts of a job."""

import io
import zipfile

import pypdfium2
import pytest
import zxingcpp
from django.test import Client
from django.urls import reverse

from jobs import partlabels
from jobs.models import MatchSet
from shared.models import Shop
from shared.shop import the_shop
from tests.factories import make_job, make_material, make_part, make_person

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(db):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    return make_job("Wash stand", number="26-041")


@pytest.fixture
def at_rack(job):
    browser = Client()
    browser.force_login(make_person("bench"))
    return browser


def lines_of(job, *parts):
    return [face.lines for face in partlabels.faces(job, parts, the_shop())]


def test_each_of_a_part_gets_a_label_with_its_finished_size(job):
    side = make_part(job, make_material(), name="side", length="34 1/2", width="15 1/4", quantity=2)
    first, second = partlabels.faces(job, [side], the_shop())
    assert (first.heading, first.size_text) == ("side", "34 1/2 × 15 1/4")
    assert first.lines[:2] == ("26-041 Wash stand", "1 of 2")
    assert second.lines[1] == "2 of 2"


def test_it_says_which_edges_are_faced_and_what_comes_next(job):
    part = make_part(job, make_material(), faced_edges="L1 L2")
    (lines,) = lines_of(job, part)
    assert "strips on 2 long edges" in lines
    assert lines[-1] == "next: edge it"


def test_solid_wood_is_milled_next_and_a_bare_panel_assembled(job):
    solid, panel = make_part(job, make_material(kind="lumber")), make_part(job, make_material())
    assert [lines[-1] for lines in lines_of(job, solid, panel)] == ["next: mill to size", "next: assemble"]


def test_a_matched_part_says_where_it_lies_in_its_set(job):
    front = make_part(job, make_material(), name="front", quantity=2, match_set="A")
    tree = {"as": "crosscut", "of": [f"p{front.pk}-2", f"p{front.pk}-1"]}
    MatchSet.objects.create(job=job, name="A", tree=tree)
    first, second = lines_of(job, front)
    assert "set A, 2 of 2" in first
    assert "set A, 1 of 2" in second


def test_they_are_printed_and_their_codes_can_be_read(at_rack, job):
    parts = [make_part(job, make_material()) for _ in range(2)]
    sent = {"part": [part.pk for part in parts], "layout": "letter-30", "start": "1"}
    answer = at_rack.post(reverse("part-labels", args=[job.number]), sent)
    assert answer["Content-Type"] == "application/pdf"
    page = pypdfium2.PdfDocument(answer.content)[0].render(scale=300 / 72).to_pil()
    read = {found.text.rpartition("/")[2] for found in zxingcpp.read_barcodes(page)}
    assert read == {part.code for part in parts}


def test_a_label_printer_gets_a_picture_of_each(at_rack, job):
    part = make_part(job, make_material(), quantity=2)
    sent = {"part": [part.pk], "layout": "roll-3x2in", "start": "1", "dpi": "203", "pictures": "1"}
    answer = at_rack.post(reverse("part-labels", args=[job.number]), sent)
    assert answer["Content-Type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.namelist() == [f"001-{part.code}.png", f"002-{part.code}.png"]


def test_nothing_ticked_is_said(at_rack, job):
    make_part(job, make_material())
    answer = at_rack.post(reverse("part-labels", args=[job.number]), {"layout": "letter-30", "start": "1"})
    assert answer.status_code == 422
    assert "No part is ticked" in answer.content.decode()


def test_another_jobs_part_is_not_printed(at_rack, job):
    other = make_part(make_job(), make_material())
    make_part(job, make_material())
    answer = at_rack.post(reverse("part-labels", args=[job.number]), {"part": [other.pk]})
    assert answer.status_code == 422


def test_who_is_not_signed_in_prints_nothing(job):
    assert Client().get(reverse("part-labels", args=[job.number])).status_code == 302
