"""Two hundred taps without a network, and all that can go wrong while they are sent."""

import re
import time

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.phone_shop import PhoneShop, sign_in

pytestmark = pytest.mark.browser

TAPS = 200
PIECES = 20
SENT_WITHIN_MS = 120_000
STORED = """async (name) => {
  const base = await new Promise((done) => {
    const request = indexedDB.open("sawbuck", 1);
    request.onsuccess = () => done(request.result);
  });
  return new Promise((done) => {
    const request = base.transaction(name).objectStore(name).getAll();
    request.onsuccess = () => { base.close(); done(request.result); };
  });
}"""
# What a thumb does two hundred times: type a code, tap the card's button; by the page's own forms.
TAP = """async ([code, name]) => {
  const box = document.querySelector("[data-scan-typed]");
  box.elements.code.value = code;
  box.requestSubmit();
  const buttons = () => [...document.querySelectorAll(".scan-card form button")];
  const button = () => buttons().find((one) => one.textContent.startsWith(name));
  document.querySelector("[data-scan-found]").replaceChildren();
  while (!button()) await new Promise((done) => setTimeout(done, 10));
  const before = document.querySelector("[data-waiting-taps]").textContent;
  button().form.requestSubmit();
  while (document.querySelector("[data-waiting-taps]").textContent === before) {
    await new Promise((done) => setTimeout(done, 10));
  }
}"""


def test_every_tap_made_offline_is_posted_once_or_shown_as_refused(
    browser: Browser, phone_shop: PhoneShop
) -> None:
    codes = phone_shop.free_codes()[-PIECES:]
    mine = phone_shop.phone(browser, "bench")
    page = mine.new_page()
    page.goto(f"{phone_shop.address}/scan")
    tap_without_a_network(page, codes)
    keys = [tap["key"] for tap in page.evaluate(STORED, "taps")]
    assert len(set(keys)) == TAPS

    someone_else_scraps(browser, phone_shop, codes[0])
    mine.clear_cookies()
    mine.set_offline(False)
    bar = page.locator("[data-waiting-taps]")
    expect(bar).to_contain_text("You are signed out", timeout=SENT_WITHIN_MS)
    assert len(page.evaluate(STORED, "taps")) == TAPS

    lose_answers(page, every=25)
    sign_in(page, phone_shop.new_link("bench"))
    page.goto(f"{phone_shop.address}/scan")
    wait_until_fewer(page, 150)
    phone_shop.kill()
    page.wait_for_timeout(500)
    left = len(page.evaluate(STORED, "taps"))
    assert 0 < left < 150
    phone_shop.serve()
    wait_until_fewer(page, 1)
    every_tap_came_to_something(page, phone_shop, keys, codes)


def tap_without_a_network(page: Page, codes: list[str]) -> None:
    """Ten rounds over the pieces, each pulled in one round and put back in the next."""
    page.wait_for_timeout(1000)
    page.context.set_offline(True)
    for tap in range(TAPS):
        name = "Pull" if tap // PIECES % 2 == 0 else "Put"
        page.evaluate(TAP, [codes[tap % PIECES], name])
    expect(page.locator("[data-waiting-taps]")).to_contain_text(f"{TAPS} taps wait on this phone")


def someone_else_scraps(browser: Browser, shop: PhoneShop, code: str) -> None:
    """Another phone takes one of the pieces away meanwhile."""
    other = shop.phone(browser, "buyer").new_page()
    other.goto(f"{shop.address}/stock/{code}")
    other.locator("summary", has_text="Other").tap()
    other.get_by_role("button", name="Scrap it").tap()
    expect(other.locator("[data-said]")).to_contain_text("is scrapped")
    other.context.close()


def lose_answers(page: Page, *, every: int) -> None:
    """The server does what it is asked, but its answer is lost on the way."""
    asked = 0

    def lose(route: Route) -> None:
        nonlocal asked
        asked += 1
        if asked % every == 0:
            route.fetch()
            route.abort()
        else:
            route.continue_()

    page.route(re.compile(r"/stock/\w+/(pull|put-back)$"), lose)


def wait_until_fewer(page: Page, number: int) -> None:
    by_then = time.monotonic() + SENT_WITHIN_MS / 1000
    while time.monotonic() < by_then:
        if len(page.evaluate(STORED, "taps")) < number:
            return
        page.evaluate("() => window.dispatchEvent(new Event('online'))")
        page.wait_for_timeout(200)
    raise AssertionError("the taps are not sent")


def every_tap_came_to_something(page: Page, shop: PhoneShop, keys: list[str], codes: list[str]) -> None:
    assert page.evaluate(STORED, "taps") == []
    posted = [
        key for (key,) in shop.rows("SELECT key FROM inventory_movement WHERE key != ''") if key in keys
    ]
    assert len(posted) == len(set(posted))
    refused = page.evaluate(STORED, "answers")
    assert len(posted) + len(refused) == TAPS
    # The piece that was scrapped meanwhile: each of its ten taps is shown with what happened to it.
    assert len(refused) == TAPS // PIECES
    shown = page.locator("[data-tap-answers] .notice")
    expect(shown).to_have_count(len(refused))
    grouped = f"{codes[0][:3]}-{codes[0][3:]}"
    for notice in shown.all():
        expect(notice).to_contain_text(grouped)
        expect(notice).to_contain_text("scrapped by")
    assert posted == [key for key in keys if key in set(posted)]  # in the order they were made
    shown.first.get_by_role("button", name="Seen").tap()
    expect(shown).to_have_count(len(refused) - 1)


def test_another_persons_taps_are_kept_and_not_sent_as_mine(browser: Browser, phone_shop: PhoneShop) -> None:
    code = phone_shop.free_codes()[0]
    phone = phone_shop.phone(browser, "bench")
    page = phone.new_page()
    page.goto(f"{phone_shop.address}/scan")
    page.wait_for_timeout(1000)
    phone.set_offline(True)
    page.evaluate(TAP, [code, "Pull"])
    phone.clear_cookies()
    phone.set_offline(False)
    sign_in(page, phone_shop.new_link("buyer"))
    page.goto(f"{phone_shop.address}/stock/{code}")
    expect(page.locator("[data-waiting-taps]")).to_contain_text("1 of someone else's wait here")
    expect(page.get_by_role("button", name="Pull").first).to_be_visible()
    phone.clear_cookies()
    sign_in(page, phone_shop.new_link("bench"))
    page.goto(f"{phone_shop.address}/scan")
    expect(page.locator("[data-waiting-taps]")).to_be_hidden(timeout=SENT_WITHIN_MS)
    page.goto(f"{phone_shop.address}/stock/{code}")
    expect(page.locator(".facts")).to_contain_text("pulled")


def test_pieces_opened_lately_are_read_without_a_network(browser: Browser, phone_shop: PhoneShop) -> None:
    code = phone_shop.free_codes()[0]
    phone = phone_shop.phone(browser, "owner")
    page = phone.new_page()
    page.goto(f"{phone_shop.address}/stock/{code}")
    page.wait_for_timeout(2500)  # the worker takes the page over, then keeps it
    page.reload()
    page.wait_for_timeout(1500)
    phone.set_offline(True)
    page.goto(f"{phone_shop.address}/S/{code}")
    expect(page.locator("h1")).to_contain_text(f"{code[:3]}-{code[3:]}")
    page.goto(f"{phone_shop.address}/stock/{code}/cut")
    expect(page.locator("h1")).to_contain_text("Cut")
    page.goto(f"{phone_shop.address}/jobs")
    expect(page.locator("h1")).to_have_text("The shop can’t be reached")


def test_a_piece_is_held_for_a_job_without_a_network(browser: Browser, phone_shop: PhoneShop) -> None:
    code = phone_shop.free_codes()[0]
    phone = phone_shop.phone(browser, "bench")
    page = phone.new_page()
    page.goto(f"{phone_shop.address}/stock/{code}/hold-for")
    page.wait_for_timeout(1000)
    phone.set_offline(True)
    page.locator("select").select_option(index=1)
    page.get_by_role("button", name="Hold it").tap()
    expect(page.locator("[data-waiting-taps]")).to_contain_text("1 tap waits on this phone")
    expect(page.locator("form .notice")).to_contain_text("waits on this phone")
    phone.set_offline(False)
    expect(page.locator("[data-waiting-taps]")).to_be_hidden(timeout=SENT_WITHIN_MS)
    page.goto(f"{phone_shop.address}/stock/{code}")
    expect(page.locator(".facts")).to_contain_text("held for")
