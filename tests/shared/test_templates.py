"""What every template keeps, so that the content policy lets a page through and its parts stay apart."""

import re
from pathlib import Path

import pytest
from django import forms
from django.core.paginator import Paginator
from django.template.loader import render_to_string
from django.test import RequestFactory

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
ALL = sorted(TEMPLATES.rglob("*.html"))


class ReceiveForm(forms.Form):
    count = forms.IntegerField(label="How many sheets", help_text="Whole sheets only.")
    priced = forms.ChoiceField(
        choices=[("s", "by the sheet"), ("f", "by the foot")], widget=forms.RadioSelect
    )
    note = forms.CharField(required=False)


@pytest.mark.parametrize("template", ALL, ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_nothing_stands_inline_that_the_policy_forbids(template):
    source = template.read_text()
    forbidden = (
        r"\sstyle=|<style|\shx-on|\son[a-z]+=|<script(?![^>]*\ssrc=)|javascript:|https?://(?!www\.w3\.org/)"
    )
    assert re.findall(forbidden, source, re.IGNORECASE) == []


@pytest.mark.parametrize("template", ALL, ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_a_part_gets_only_what_it_is_given(template):
    included = re.findall(r"{% include .*?%}", template.read_text(), re.DOTALL)
    assert [tag for tag in included if not tag.endswith(" only %}")] == []
    assert [tag for tag in included if not re.search(r'"\w+/_\w+\.html"', tag)] == []


@pytest.mark.parametrize("name", ["400.html", "500.html"])
def test_a_page_for_what_broke_needs_nothing_that_may_be_broken(name):
    page = render_to_string(name)
    assert "<h1>" in page
    assert 'href="/"' in page


@pytest.mark.parametrize("kind", ["good", "careful"])
def test_a_notice_says_its_kind_by_a_sign(kind):
    notice = render_to_string("shared/_notice.html", {"kind": kind, "text": "White oak 3/4 & more"})
    assert {"good": "✓", "careful": "!"}[kind] in notice
    assert "<sup>3</sup>" in notice
    assert "&amp; more" in notice


def test_what_was_refused_is_linked_in_the_same_words():
    page = render_to_string("shared/_form.html", {"form": ReceiveForm({"count": "three"})})
    assert '<a href="#id_count">How many sheets: Enter a whole number.</a>' in page
    assert '<a href="#id_priced">Priced: This field is required.</a>' in page
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert {"id_count", "id_priced"} <= set(ids)


def test_an_input_points_to_its_hint_and_its_error():
    page = render_to_string("shared/_form.html", {"form": ReceiveForm({"count": "three"})})
    pointed = re.findall(r'aria-describedby="([^"]+)"', page)
    assert "id_count_helptext id_count_error" in pointed
    assert all(f'id="{name}"' in page for names in pointed for name in names.split())


def test_a_form_not_sent_yet_has_nothing_to_put_right():
    page = render_to_string("shared/_form.html", {"form": ReceiveForm()})
    assert "error" not in page
    assert "(optional)" in page


def test_a_page_of_a_list_keeps_the_filters():
    pages = Paginator(range(120), 50)
    request = RequestFactory().get("/stock?kind=offcut&page=2")
    pager = render_to_string("shared/_pager.html", {"page": pages.page(2), "what": "pieces"}, request=request)
    assert "51 to 100 of 120 pieces" in pager
    assert 'href="?kind=offcut&amp;page=1"' in pager
    assert 'href="?kind=offcut&amp;page=3"' in pager
