"""Form fields of our own that no one page is about."""

import re
from html import unescape

from django import forms
from hypothesis import given
from hypothesis import strategies as st

from shared.fields import LongSelect

WORDS = st.text(st.sampled_from("ab <>&\"'ü½"), max_size=6)


def read(markup):
    """The tag's attributes, and each choice: its value, what it says, whether it is chosen."""
    (attributes,) = re.findall(r"<select([^>]*)>", markup)
    found = re.findall(r'<option value="([^"]*)"( selected)?>(.*?)</option>', markup, re.S)
    choices = [(unescape(value), unescape(text), bool(chosen)) for value, chosen, text in found]
    return sorted(attributes.split()), choices


@given(choices=st.lists(st.tuples(WORDS, WORDS), max_size=5), data=st.data())
def test_a_long_select_says_what_djangos_own_says(choices, data):
    chosen = data.draw(st.sampled_from(["", "nothing like it", *(value for value, _ in choices)]))
    asked = {"attrs": {"id": "id_wood", "aria-describedby": 'a"b'}}
    shown = [
        read(widget(choices=choices, attrs={"class": "wide"}).render("wood", chosen, **asked))
        for widget in (LongSelect, forms.Select)
    ]
    assert shown[0] == shown[1]
    assert len(shown[0][1]) == len(choices)
