"""Every address there is: who may open it, by which method, what it never shows and never does."""

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from html import unescape
from itertools import cycle
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pypdfium2
from django.db import connection, transaction
from django.test import Client, TestCase
from django.test.utils import CaptureQueriesContext
from django.urls import NoReverseMatch, resolve, reverse
from python_calamine import CalamineWorkbook

from inventory import counting, handling
from inventory.models import Offer, Piece, Receipt, ReceiptLine
from jobs import demo, making
from jobs.models import BuyLine, Charge, Job, Part, Plan
from shared.models import Person
from tests.addresses import NO_ROW, NOTHING, Address, all_addresses
from tests.pages import Form, forms_on, words_of

SEEING_MOST_AND_LEAST = ("owner", "bench")
FOR_ANYONE = {"sign-in", "sign-in-once", "service-worker", "manifest", "offline"}
BY_POST_ONLY = {
    *("pull", "put-back", "move", "scrap", "lose", "find", "release", "undo"),
    *("job-finish", "parts-read", "parts-check", "part-remove", "spoil", "unspoil", "job-goods"),
    *("plan-ask", "plan-stop", "plan-accept", "plan-give-up", "buying-drop"),
    *("stock-chosen", "offer-new", "offer-end", "name-new", "name-remove", "goods-put-in", "labels-printed"),
    *("sign-out", "person-link", "person-leaves", "person-returns"),
    *("count-begin", "count-note", "count-post", "books-close", "books-accounts"),
}
FOR_BUYERS = {
    *("cost", "buying", "buying-receive", "buying-drop", "spend", "spend-export"),
    *("receive", "receipts", "receipt", "suppliers", "supplier", "supplier-new"),
    *("material-new", "material-edit", "offer-new", "offer-end", "name-new", "name-remove", "goods-put-in"),
    *("place-new", "place"),
}
FOR_OWNERS = {
    *("shop", "first-run", "people", "person", "person-new"),
    *("person-link", "person-leaves", "person-returns"),
    *("audit", "books", "journal", "books-close", "books-accounts"),
}
WITH_PRICES = {"home", "piece", "stock", "job", "plan", "plan-pdf", "material", "cost", "buying", "spend"}
ODD = {
    "code": ["0", "K7M-2Q4", "a" * 500, "é", "a\0b", "..", "%2e", "K7M2Q8?x"],
    "number": ["0", "x" * 500, "é", "a\0b", "26-001\n", "..;", "%00"],
    "kind": ["CSV", "csv.exe", "x" * 500, "\0"],
    "token": ["x" * 5_000, "a\0b"],
}
ODD_ROWS = [0, 10**18, 10**30]
A_FIGURE = re.compile(r"(?<![\d.,])\d[\d,]*\.\d\d(?!\d)")
HOSTILE = [
    *(
        "",
        "²",
        "9" * 5_000,
        "-1",
        "1e9",
        "1/0",
        "a\0b",
        "é" * 600,
        "NaN",
        "0001-01-01",
        "9" * 20,
        "<b>x",
        "{}",
    ),
]
WRITES = re.compile(r'(?:INSERT INTO|UPDATE|DELETE FROM) "(?!django_session)')


class EveryPage(TestCase):
    """In the demo shop, which has jobs at every stage, receipts, buy lists, held and used pieces."""

    addresses: list[Address]
    seen: dict[str, dict[str, "Seen"]]

    @classmethod
    def setUpTestData(cls) -> None:
        demo.load()
        owner, part = Person.objects.get(username="owner"), Part.objects.filter(cut__gt=0)[0]
        making.spoil(part=part, count=1, by=owner)
        counting.begin(place=None, by=owner)
        handling.lose(piece=Piece.objects.free()[0], by=owner)
        cls.addresses = all_addresses()
        cls.seen = {role: pages_for(role, cls.addresses) for role in SEEING_MOST_AND_LEAST}

    def statuses(self, browser: Client, names: set[str], *methods: str) -> dict[tuple[str, str], int]:
        """How each of these addresses answers each method, where what it is asked for is not there."""
        return {
            (address.name, method): getattr(browser, method)(address.of_nothing()).status_code
            for address in self.addresses
            for method in methods
            if address.name in names
        }

    # ---- who may ---------------------------------------------------------------------------------------

    def test_who_is_not_signed_in_is_asked_to_sign_in(self) -> None:
        for address in self.addresses:
            for method in ("get", "head", "post", "put", "delete"):
                if address.name not in FOR_ANYONE:
                    answer = getattr(Client(), method)(address.of_nothing())
                    assert answer.status_code == 302, address
                    assert answer.url.startswith(f"{reverse('sign-in')}?next="), address

    def test_prices_and_buying_are_kept_from_the_bench(self) -> None:
        said = self.statuses(signed_in("bench"), FOR_BUYERS | FOR_OWNERS, "get", "post")
        assert {name for name, _ in said} == FOR_BUYERS | FOR_OWNERS
        assert said == dict.fromkeys(said, 403)

    def test_settings_and_people_are_kept_from_the_buyer(self) -> None:
        said = self.statuses(signed_in("buyer"), FOR_OWNERS, "get", "post")
        assert said == dict.fromkeys(said, 403)

    def test_whoever_may_not_is_told_in_a_sentence(self) -> None:
        page = signed_in("bench").get(reverse("spend"))
        assert "Prices and buying are for the buyer and the owner." in words_of(page)
        page = signed_in("buyer").get(reverse("people"))
        assert "This page is for the owner." in words_of(page)

    # ---- by which method -------------------------------------------------------------------------------

    def test_what_changes_something_is_sent_by_post_only(self) -> None:
        said = self.statuses(signed_in("owner"), BY_POST_ONLY, "get", "head", "put", "delete")
        assert {name for name, _ in said} == BY_POST_ONLY
        assert said == dict.fromkeys(said, 405)

    def test_looking_changes_nothing(self) -> None:
        changed = {url: page.changed for url, page in self.seen["owner"].items() if page.changed}
        assert changed == {}

    def test_a_form_of_another_site_is_refused(self) -> None:
        browser = signed_in("owner", enforce_csrf_checks=True)
        said = self.statuses(browser, BY_POST_ONLY, "post")
        assert said == dict.fromkeys(said, 403)

    # ---- what is not there -----------------------------------------------------------------------------

    def test_what_is_not_there_is_not_found(self) -> None:
        names = {address.name for address in self.addresses if set(address.wants) - {"age"}} - FOR_ANYONE
        said = self.statuses(signed_in("owner"), names, "get", "post")
        assert set(said.values()) <= {404, 405}
        assert {name for (name, _), status in said.items() if status == 404} == names

    def test_what_can_not_be_is_not_found_either(self) -> None:
        owner = signed_in("owner")
        for address in self.addresses:
            for wanted in set(address.wants) - {"age"}:
                for odd in ODD.get(wanted, ODD_ROWS):
                    filled = {name: NOTHING.get(name, NO_ROW) for name in address.wants}
                    try:
                        url = address.filled({**filled, wanted: odd})
                    except NoReverseMatch:
                        continue
                    said = {owner.get(url).status_code, owner.post(url).status_code}
                    assert said <= {404, 405, 410}, url

    def test_no_form_breaks_whatever_is_sent(self) -> None:
        """Each field of each form once, with something no browser would send of it."""
        owner, hostile, broken = signed_in("owner", raise_request_exception=False), cycle(HOSTILE), {}
        for form in forms_of_each_kind(self.seen["owner"].values()):
            for name in form.held:
                sent = {**form.held, name: [next(hostile)]}
                with transaction.atomic():
                    send = owner.post if form.method == "post" else owner.get
                    status = send(urlsplit(form.action).path, sent).status_code
                    transaction.set_rollback(True)
                if status >= 500:
                    broken[form.action, name] = sent[name][0][:20]
        assert broken == {}

    # ---- what is shown ---------------------------------------------------------------------------------

    def test_every_page_is_looked_at(self) -> None:
        owner = signed_in("owner")
        by_get = (one for one in self.addresses if owner.get(one.of_nothing()).status_code != 405)
        unknown = {address.name for address in by_get if not address.is_known}
        assert unknown == set(), "Say in tests/addresses.py what these can be asked for."

    def test_the_bench_sees_no_price(self) -> None:
        figures, pages = amounts(), self.seen["bench"]
        assert len(figures) > 50
        assert len(pages) > 60
        assert {url for url, page in pages.items() if "$" in page.said} == set()
        priced = {url: figures & set(A_FIGURE.findall(page.said)) for url, page in pages.items()}
        assert {url: found for url, found in priced.items() if found} == {}

    def test_the_owner_sees_prices_where_the_bench_does_not(self) -> None:
        priced = {url for url, page in self.seen["owner"].items() if "$" in page.said}
        assert {resolve(url).url_name for url in priced} >= WITH_PRICES

    def test_no_link_leads_where_there_is_nothing_or_where_one_may_not_go(self) -> None:
        for role, pages in self.seen.items():
            browser = signed_in(role)
            on_page = {link: url for url, page in pages.items() for link in page.links}
            said = {link: browser.get(link).status_code for link in a_few_of_each(on_page)}
            astray = {(on_page[link], link): status for link, status in said.items()}
            assert {way: status for way, status in astray.items() if status not in (200, 302)} == {}, role


# ---- looking around ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seen:
    """A page as someone got it: all it says, where its links lead, and what looking at it changed."""

    said: str
    links: frozenset[str]
    forms: tuple[Form, ...]
    changed: tuple[str, ...]


def amounts() -> set[str]:
    """Every price, value and cost that the books hold, as it is written. Small ones may be a size or a weight."""
    columns = [
        (Offer, "price"),
        (Piece, "value"),
        (ReceiptLine, "price"),
        (ReceiptLine, "amount"),
        (ReceiptLine, "cost"),
        (Receipt, "total"),
        (BuyLine, "price"),
        (Plan, "bought"),
        (Plan, "rack_used"),
        (Plan, "saved"),
        (Job, "estimate"),
        (Charge, "amount"),
    ]
    figures = {
        abs(figure or 0)
        for model, name in columns
        for figure in model._default_manager.values_list(name, flat=True)
    }
    return {f"{figure:,.2f}" for figure in figures if figure >= 10}


def signed_in(role: str, **options: Any) -> Client:
    browser = Client(**options)
    browser.force_login(Person.objects.get(username=role))
    return browser


def pages_for(role: str, addresses: list[Address]) -> dict[str, Seen]:
    """What that person gets to see of what is in the shop, by the address."""
    browser, pages = signed_in(role), {}
    for address in addresses:
        by_post_only = browser.get(address.of_nothing()).status_code == 405
        for url in address.of_something() if not by_post_only else ():
            with CaptureQueriesContext(connection) as queries:
                page = browser.get(url)
            if page.status_code == 200:
                changed = tuple(query["sql"] for query in queries if WRITES.match(query["sql"]))
                is_html = page["Content-Type"].startswith("text/html")
                links = links_in(page) if is_html else frozenset()
                forms = tuple(forms_on(page, url)) if is_html else ()
                pages[url] = Seen(said_by(page), links, forms, changed)
    return pages


def said_by(page: Any) -> str:
    """All that an answer says: a page with what stands in its fields, a PDF's words, a table."""
    kind = page["Content-Type"]
    if kind.startswith("application/pdf"):
        printed = pypdfium2.PdfDocument(page.content)
        return "\n".join(sheet.get_textpage().get_text_bounded() for sheet in printed)
    if kind.startswith("text/html"):
        return unescape(re.sub(r"<svg.*?</svg>", "", page.content.decode(), flags=re.DOTALL))
    if "spreadsheet" in kind:
        book = CalamineWorkbook.from_filelike(io.BytesIO(page.content))
        return "\n".join(str(book.get_sheet_by_name(name).to_python()) for name in book.sheet_names)
    return "" if "javascript" in kind else page.content.decode()


def links_in(page: Any) -> frozenset[str]:
    """Where a page's links lead in this shop."""
    found = re.findall(r'\shref="(/[^"#]*)', page.content.decode())
    return frozenset(unescape(link) for link in found if not link.startswith("/static/"))


def forms_of_each_kind(pages: Iterable[Seen]) -> list[Form]:
    """The forms of these pages, each kind once; rows that repeat in a form are its kind too."""
    kinds: dict[Any, Form] = {}
    for page in pages:
        for form in page.forms:
            where = resolve(urlsplit(form.action).path).url_name
            fields = {re.sub(r"\d+", "", name): name for name in form.held}
            held = {name: form.held[name] for name in fields.values()}
            kinds.setdefault((where, tuple(sorted(fields))), Form(form.action, form.method, held))
    return [form for (where, _), form in kinds.items() if where != "sign-out"]


def a_few_of_each(links: Iterable[str]) -> list[str]:
    """Some links to each page, with each of the questions that are asked of it."""
    alike: dict[Any, list[str]] = {}
    for link in sorted(links):
        where = urlsplit(link)
        alike.setdefault((resolve(where.path).url_name, tuple(parse_qs(where.query))), []).append(link)
    return [link for found in alike.values() for link in found[:3]]
