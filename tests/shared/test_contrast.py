"""Contrast of the tokens in every colour set, by WCAG 2.2, "contrast ratio" and "relative luminance"."""

import re
from itertools import product
from pathlib import Path

import pytest

TOKENS = Path(__file__).resolve().parents[2] / "shared/static/shared/tokens.css"

SETS = {
    "light": [""],
    "dark": ["", "(prefers-color-scheme: dark)"],
    "light, more contrast": ["", "(prefers-contrast: more)"],
    "dark, more contrast": [
        "",
        "(prefers-color-scheme: dark)",
        "(prefers-contrast: more)",
        "(prefers-contrast: more) and (prefers-color-scheme: dark)",
    ],
}
TEXT = [
    *product(["graphite", "soft", "marking", "marking-deep", "rust"], ["paper", "sheet"]),
    *product(["graphite"], ["moss-ground", "rust-ground", "marking-ground", "wood", "offcut", "waste"]),
    *product(["marking", "marking-deep"], ["marking-ground", "moss-ground", "rust-ground"]),
    ("moss", "moss-ground"),
    ("rust", "rust-ground"),
    ("on-marking", "marking"),
    ("on-marking", "marking-deep"),
]
LINES = [
    *product(["graphite", "soft", "marking", "rust", "moss"], ["paper", "sheet"]),
    *product(["graphite"], ["wood", "offcut", "waste"]),
    ("offcut-hatch", "offcut"),
    ("waste-dot", "waste"),
    ("rust", "rust-ground"),
]


def colour_set(name: str) -> dict[str, str]:
    """Every colour token as the cascade leaves it under the set's media queries."""
    found: dict[str, str] = {}
    source = re.sub(r"/\*.*?\*/", "", TOKENS.read_text(), flags=re.DOTALL)
    for query, block in re.findall(r"(?:@media ([^{]+?) \{\s*)?:root \{(.*?)\}", source, flags=re.DOTALL):
        if query in SETS[name]:
            found.update(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block))
    return found


def luminance(colour: str) -> float:
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted([luminance(one), luminance(other)])
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_that_of_the_standard():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # the well-known near miss


@pytest.mark.parametrize("name", SETS)
def test_text_can_be_read(name):
    colours = colour_set(name)
    least = 7 if "more" in name else 4.5
    faint = {pair: round(contrast(*(colours[token] for token in pair)), 2) for pair in TEXT}
    assert {pair: ratio for pair, ratio in faint.items() if ratio < least} == {}


@pytest.mark.parametrize("name", SETS)
def test_lines_that_say_something_can_be_seen(name):
    colours = colour_set(name)
    least = 4.5 if "more" in name else 3
    ratios = {pair: round(contrast(*(colours[token] for token in pair)), 2) for pair in LINES}
    hatching = {"offcut-hatch", "waste-dot"}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < least and pair[0] not in hatching} == {}
    # Hatching and dots stand beside a dashed or dotted outline and a word.
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < 2.5} == {}


def test_the_dark_set_names_every_colour_of_the_light_one():
    dark_only = re.search(
        r"\(prefers-color-scheme: dark\) \{\s*:root \{(.*?)\}", TOKENS.read_text(), re.DOTALL
    )
    assert dark_only
    assert set(re.findall(r"--([\w-]+): #", dark_only[1])) == set(colour_set("light"))
