"""Reading a page as a person or a browser does."""

import re
from html import unescape
from typing import Any


def words_of(page: Any) -> str:
    """All that a page says, without its tags and on one line."""
    said = re.sub(r"<(script|style)\b.*?</\1>|<[^>]*>", " ", page.content.decode(), flags=re.DOTALL)
    return " ".join(unescape(said).split())


def hidden(page: Any, name: str) -> list[str]:
    """The values of a page's hidden fields of one name, as a browser sends them back."""
    field = rf'<input type="hidden" name="{name}" value="([^"]*)">'
    return [unescape(value) for value in re.findall(field, page.content.decode())]
