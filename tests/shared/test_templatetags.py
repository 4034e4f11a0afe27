import html
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.template import Context, Template
from django.test import RequestFactory
from django.utils.html import strip_tags

from shared import codes
from shared.measure import inches, mm
from shared.templatetags import sawbuck

INCH_SHOP = SimpleNamespace(unit="in", currency="USD")
METRIC_SHOP = SimpleNamespace(unit="mm", currency="EUR")


def rendered(source: str, **context: object) -> str:
    return Template("{% load sawbuck %}" + source).render(Context(context))


def test_a_fraction_is_set_as_a_fraction():
    assert rendered("{{ length|length_in:shop }}", length=inches("23 1/2"), shop=INCH_SHOP) == (
        '<span class="length"><span class="mixed">23 <span class="fraction"><sup>1</sup>'
        '<span class="fraction-bar">/</span><sub>2</sub></span></span></span>'
    )


@pytest.mark.parametrize(
    ("length", "shop", "text"),
    [
        (inches("23 1/2"), INCH_SHOP, "23 1/2"),
        (inches("3/4"), INCH_SHOP, "3/4"),
        (inches(96), INCH_SHOP, "96"),
        (mm("596.9"), METRIC_SHOP, "596.9"),
    ],
)
def test_a_length_is_copied_as_it_is_typed(length, shop, text):
    assert strip_tags(sawbuck.length_in(length, shop)) == text


def test_a_size_is_copied_length_before_width():
    size = rendered("{% size length width shop %}", length=inches("40 1/2"), width=inches(22), shop=INCH_SHOP)
    assert strip_tags(size) == "40 1/2 × 22"


def test_a_length_that_stands_alone_says_its_unit():
    assert strip_tags(sawbuck.length_with_unit(inches("23 1/2"), INCH_SHOP)) == "23 1/2 in"
    assert strip_tags(sawbuck.length_with_unit(mm(597), METRIC_SHOP)) == "597 mm"


@pytest.mark.parametrize(
    "text", ["white oak 3/4 veneer core", "ash 5/4", "a 1 1/2 batten", "slides, 1/64 apart."]
)
def test_a_fraction_in_a_name_is_set_and_still_copied_as_text(text):
    assert "<sup>" in sawbuck.fractions(text)
    assert strip_tags(sawbuck.fractions(text)) == text


@pytest.mark.parametrize(
    "text", ["12/10/2026", "1/2/26", "open 24/7", "and/or", "3/4.5", "no. A3/4", "1/3 full"]
)
def test_what_is_no_shop_fraction_stays_as_it_is(text):
    assert sawbuck.fractions(text) == text


def test_a_name_with_markup_in_it_is_escaped():
    shown = sawbuck.fractions("<b>3/4</b> & 'oak'")
    assert "<b>" not in shown
    assert html.unescape(strip_tags(shown)) == "<b>3/4</b> & 'oak'"


def test_what_is_set_already_is_not_set_twice():
    once = sawbuck.fractions("oak 3/4")
    assert sawbuck.fractions(once) == once


def test_a_code_stands_in_its_groups():
    code = codes.code_for(1)
    assert sawbuck.grouped(code) == f'<span class="code">{codes.grouped(code)}</span>'


def test_money_area_and_weight_are_written_as_the_shop_reads_them():
    assert sawbuck.money(Decimal("1246.3"), INCH_SHOP) == "$1,246.30"
    assert sawbuck.area(inches(96) * inches(48), INCH_SHOP) == "32.0 sq ft"
    assert sawbuck.weight(Decimal(32), INCH_SHOP) == "71 lb"
    assert sawbuck.weight(Decimal(32), METRIC_SHOP) == "32 kg"


@pytest.mark.parametrize(
    "written", [sawbuck.length_in, sawbuck.length_with_unit, sawbuck.money, sawbuck.area]
)
def test_what_is_not_known_is_left_blank(written):
    assert written(None, INCH_SHOP) == ""


@pytest.mark.parametrize(
    ("path", "marked"),
    [
        ("/stock", ' aria-current="page"'),
        ("/stock/K7M2Q4", ' aria-current="true"'),
        ("/stockist", ""),
        ("/", ""),
    ],
)
def test_the_bar_marks_where_the_reader_is(path, marked):
    assert rendered('{% here "/stock" %}', request=RequestFactory().get(path)) == marked
