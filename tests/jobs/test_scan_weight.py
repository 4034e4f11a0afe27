"""What a phone has to load at the rack, on poor Wi-Fi: 15 kB of page, and 30 kB of style and script as sent."""

import gzip
import re

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse

from shared.models import Shop
from tests.factories import make_offcut, make_person

MOST_HTML, MOST_STYLE_AND_SCRIPT = 15_000, 30_000


@pytest.fixture
def browser(db):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    browser = Client()
    browser.force_login(make_person("owner"))
    return browser


def files_of(page):
    """Every style and script that a page names, and every script that those import."""
    found = re.findall(r'(?:href|src)="/static/([^"]+\.(?:css|js))"', page)
    for name in found:
        source = open(finders.find(name), encoding="utf-8").read()  # noqa: SIM115
        folder = name.rpartition("/")[0]
        found.extend(
            f"{folder}/{other}"
            for other in re.findall(r'from "\./([^"]+)"', source)
            if f"{folder}/{other}" not in found
        )
    return found


@pytest.mark.parametrize("name", ["scan", "piece", "cut", "rack-find", "counts"])
def test_a_page_at_the_rack_is_light(browser, name):
    piece = make_offcut(by=make_person("buyer"))
    args = [piece.code] if name in ("piece", "cut") else []
    page = browser.get(reverse(name, args=args)).content
    assert len(page) < MOST_HTML, len(page)
    files = files_of(page.decode())
    assert any("taps.js" in file for file in files)
    raw = [open(finders.find(file), "rb").read() for file in files]  # noqa: SIM115
    # As they go over the air: the server sends them compressed.
    sent = sum(len(gzip.compress(content)) for content in raw)
    assert sent < MOST_STYLE_AND_SCRIPT, sent
    assert not any("vendor" in file for file in files)


def test_what_is_scanned_comes_as_a_small_part(browser):
    piece = make_offcut(by=make_person("buyer"))
    answer = browser.get(reverse("scan-part"), {"code": piece.code})
    assert len(answer.content) < 4_000
