"""What a phone has to load at the rack, on poor Wi-Fi: 15 kB of page, and 60 kB of style and script besides the
decoder, before anything is compressed."""

import re

import pytest
from django.contrib.staticfiles import finders
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from inventory import counting
from jobs.models import Layout
from shared.models import Shop
from shared.storage import FingerprintedFiles, slim
from tests.factories import make_job, make_material, make_offcut, make_part, make_person, make_place
from tests.jobs.layouts_of_jobs import accepted_layout

MOST_HTML, MOST_STYLE_AND_SCRIPT = 15_000, 60_000
PLACES, MATERIALS = 60, 60


@pytest.fixture
def bench(db):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    return make_person("bench")


@pytest.fixture
def phone(bench):
    phone = Client()
    phone.force_login(bench)
    return phone


@pytest.fixture
def piece(bench):
    """An offcut in a shop of so many places and materials, held and to be cut for a job."""
    for number in range(1, PLACES):
        make_place(f"Bay {number % 12}, shelf {number}")
    for number in range(1, MATERIALS):
        make_material(f"White oak plywood 3/4, veneer core, number {number}")
    piece = make_offcut(by=make_person("buyer"), place=make_place("Bay A1"), length="96", width="48")
    job = make_job("Wash stand", number="26-041")
    accepted_layout(piece, make_part(job, piece.material, length="34 1/2", width="15 1/4"), bench)
    return piece


def files_of(page):
    """Every style and script that a page names, and every script that those import."""
    found = re.findall(r'(?:href|src)="/static/([^"]+\.(?:css|js))"', page)
    for name in found:
        source = content_of(name).decode()
        folder = name.rpartition("/")[0]
        found.extend(
            f"{folder}/{other}"
            for other in re.findall(r'from "\./([^"]+)"', source)
            if f"{folder}/{other}" not in found
        )
    return found


def content_of(name):
    with open(finders.find(name), "rb") as file:
        return file.read()


AT_THE_RACK = {
    "scan": "/scan",
    "a round for a job": "/scan?job=26-041",
    "piece": "/stock/CODE",
    "cut": "/stock/CODE/cut",
    "hold": "/stock/CODE/hold-for",
    "find": "/rack/find",
    "counts": "/stock/count",
    "count": "/stock/count/COUNT",
}
# These carry drawings or lists besides.
ELSEWHERE = {
    "home": "/",
    "stock": "/stock",
    "put in": "/stock/put-in",
    "labels": "/labels",
    "job": "/jobs/26-041",
    "saw": "/jobs/26-041/saw",
    "cut a layout": "/jobs/26-041/saw/LAYOUT/cut",
}


@pytest.fixture
def opened(phone, bench, piece):
    """The page at an address with what is to stand in it."""
    count = counting.begin(place=None, by=bench).pk
    named = {"CODE": piece.code, "COUNT": str(count), "LAYOUT": str(Layout.objects.get().pk)}

    def open_page(address):
        answer = phone.get(re.sub("CODE|COUNT|LAYOUT", lambda found: named[found[0]], address))
        assert answer.status_code == 200
        return answer.content.decode()

    return open_page


@pytest.mark.parametrize("name", AT_THE_RACK)
def test_a_page_at_the_rack_is_light(opened, name):
    assert len(opened(AT_THE_RACK[name]).encode()) <= MOST_HTML


@pytest.mark.parametrize("name", AT_THE_RACK | ELSEWHERE)
def test_its_styles_and_scripts_are_light(opened, name):
    files = files_of(opened((AT_THE_RACK | ELSEWHERE)[name]))
    assert any("taps.js" in file for file in files)
    assert not any("vendor" in file for file in files)
    assert sum(len(slim(file, content_of(file))) for file in files) <= MOST_STYLE_AND_SCRIPT


def test_what_is_served_is_what_was_weighed(tmp_path):
    kept = FingerprintedFiles(location=tmp_path, base_url="/static/")
    names = ["shared/taps.js", "shared/store.js", "shared/page.css", "vendor/htmx-2.0.11/htmx.min.js"]
    for name in names:
        kept.save(name, ContentFile(content_of(name)))
        assert (tmp_path / name).read_bytes() == slim(name, content_of(name))
    list(kept.post_process({name: (kept, name) for name in names}))
    served = {name: kept.stored_name(name) for name in names}
    for name in names[1:]:
        assert (tmp_path / served[name]).read_bytes() == slim(name, content_of(name))
    # One script asks for another by the name it is kept under.
    assert (
        f'from"./{served["shared/store.js"].removeprefix("shared/")}"'
        in (tmp_path / served[names[0]]).read_text()
    )


def test_what_is_scanned_comes_as_a_small_part(phone, piece):
    answer = phone.get(reverse("scan-part"), {"code": piece.code, "job": "26-041"})
    assert len(answer.content) < 4_000
