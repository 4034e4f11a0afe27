"""Reading a page as a person or a browser does."""

import re
from dataclasses import dataclass, field
from html import unescape
from html.parser import HTMLParser
from typing import Any


def words_of(page: Any) -> str:
    """All that a page says, without its tags and on one line."""
    said = re.sub(r"<(script|style)\b.*?</\1>|<[^>]*>", " ", page.content.decode(), flags=re.DOTALL)
    return " ".join(unescape(said).split())


def hidden(page: Any, name: str) -> list[str]:
    """The values of a page's hidden fields of one name, as a browser sends them back."""
    field = rf'<input type="hidden" name="{name}" value="([^"]*)">'
    return [unescape(value) for value in re.findall(field, page.content.decode())]


@dataclass(slots=True)
class Form:
    """A form of a page: where it goes, by which method, and what each of its fields holds."""

    action: str
    method: str
    held: dict[str, list[str]] = field(default_factory=dict)


class _Forms(HTMLParser):
    def __init__(self, address: str) -> None:
        super().__init__()
        self.address = address
        self.found: list[Form] = []
        self.form: Form | None = None
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.form = Form(said.get("action") or self.address, said.get("method", "get").lower())
            self.found.append(self.form)
        elif self.form and tag in ("input", "textarea", "button", "select") and said.get("name"):
            held = self.form.held.setdefault(said["name"], [])
            is_ticked = said.get("type") not in ("checkbox", "radio", "file") or "checked" in said
            if tag == "select":
                self.select = said["name"]
            elif is_ticked and not (tag == "button" and held):
                held.append(said.get("value", ""))
        elif self.form and tag == "option" and self.select and "selected" in said:
            self.form.held[self.select].append(said.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = None
        elif tag == "select":
            self.select = ""


def forms_on(page: Any, address: str) -> list[Form]:
    """The forms of a page at an address, with what their fields hold before anyone types."""
    reader = _Forms(address)
    reader.feed(page.content.decode())
    return reader.found
