"""Reads a page as a browser would send it back."""

from html.parser import HTMLParser


class _Fields(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.held: dict[str, str] = {}
        self._area = self._select = ""

    def handle_starttag(self, tag, attrs):
        said = dict(attrs)
        if tag == "input" and said.get("name"):
            ticks = said.get("type") in ("checkbox", "radio")
            if not ticks or "checked" in said:
                self.held[said["name"]] = said.get("value", "on" if ticks else "")
        elif tag == "textarea":
            self._area, self.held[said["name"]] = said["name"], ""
        elif tag == "select":
            self._select = said["name"]
        elif tag == "option" and self._select and ("selected" in said or self._select not in self.held):
            self.held[self._select] = said.get("value") or ""

    def handle_endtag(self, tag):
        if tag == "textarea":
            self.held[self._area] = self.held[self._area].removeprefix("\n")  # as browsers do
            self._area = ""
        elif tag == "select":
            self._select = ""

    def handle_data(self, data):
        if self._area:
            self.held[self._area] += data


def fields_on(answer) -> dict[str, str]:
    """What each field on the page holds, by its name."""
    reader = _Fields()
    reader.feed(answer.content.decode())
    return reader.held
