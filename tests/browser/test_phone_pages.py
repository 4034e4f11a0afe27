"""Pages at the rack on small phones: nothing cut off, nothing sideways, nothing axe calls serious."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.phone_shop import PhoneShop

pytestmark = pytest.mark.browser

AXE = Path(__file__).parent / "vendor" / "axe-core-4.14.1" / "axe.min.js"
PAGES = [
    "/",
    "/scan",
    "/stock",
    "/stock/CODE",
    "/stock/CODE/cut",
    "/rack/find",
    "/stock/count",
    "/stock/count/COUNT",
    "/stock/count/COUNT/differences",
    "/labels",
    "/jobs",
    "/offline",
]
SIZES = {"small": (360, 740, ""), "large": (412, 915, ""), "double": (360, 740, "200%")}
TOO_WIDE = """() => {
  const hidden = ".visually-hidden, [hidden], details:not([open]) > :not(summary), .top-bar-sheet, svg";
  const width = document.documentElement.clientWidth;
  const out = [...document.querySelectorAll("main *, header *")].filter((one) => {
    const box = one.getBoundingClientRect();
    return !one.closest(hidden) && box.width > 0 && (box.right > width + 1 || box.left < -1);
  });
  const sideways = document.documentElement.scrollWidth - width;
  return [sideways > 1 ? `the page is ${sideways} px too wide` : "", ...out.map((one) => one.outerHTML.slice(0, 90))]
    .filter(Boolean);
}"""


@pytest.fixture(scope="module")
def addresses(browser: Browser, phone_shop: PhoneShop) -> list[str]:
    """The pages, of things that are there."""
    page = phone_shop.phone(browser, "owner").new_page()
    page.goto(f"{phone_shop.address}/stock/count")
    page.get_by_role("button", name="Begin to count").tap()
    count = page.url.rstrip("/").rpartition("/")[2]
    page.context.close()
    code = phone_shop.free_codes()[0]
    return [f"{phone_shop.address}{one.replace('CODE', code).replace('COUNT', count)}" for one in PAGES]


@pytest.mark.parametrize("size", SIZES)
def test_nothing_runs_over_the_edge(
    browser: Browser, phone_shop: PhoneShop, addresses: list[str], size: str
) -> None:
    width, height, text = SIZES[size]
    context = phone_shop.phone(browser, "owner", viewport={"width": width, "height": height})
    page = context.new_page()
    found = {}
    for address in addresses:
        page.goto(address)
        if text:
            page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", text)
        if wrong := page.evaluate(TOO_WIDE):
            found[address] = wrong[:4]
        if address.endswith("/scan"):
            scan_by_thumb(page, phone_shop.free_codes()[0])
            found |= {f"{address}, scanned": wrong[:4] for wrong in [page.evaluate(TOO_WIDE)] if wrong}
    context.close()
    assert found == {}


def scan_by_thumb(page: Page, code: str) -> None:
    page.locator("#scan-code").fill(code)
    page.get_by_role("button", name="Open").last.tap()
    expect(page.locator(".scan-card")).to_contain_text(f"{code[:3]}-{code[3:]}")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(
    browser: Browser, phone_shop: PhoneShop, addresses: list[str], scheme: str
) -> None:
    context = phone_shop.phone(browser, "owner", color_scheme=scheme)
    page = context.new_page()
    found = {}
    for address in addresses:
        page.goto(address)
        page.evaluate(AXE.read_text(encoding="utf-8"))
        result = page.evaluate("() => axe.run({ resultTypes: ['violations'] })")
        serious = [one for one in result["violations"] if one["impact"] in ("serious", "critical")]
        if serious:
            found[address] = [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in serious]
    context.close()
    assert found == {}


def test_targets_at_the_rack_are_hit_by_a_gloved_thumb(
    browser: Browser, phone_shop: PhoneShop, addresses: list[str]
) -> None:
    """44 px in both ways, for what is tapped at the rack: buttons and links that look like one."""
    context = phone_shop.phone(browser, "owner")
    page = context.new_page()
    small = {}
    for address in addresses[1:9]:
        page.goto(address)
        sizes = page.evaluate(
            "() => [...document.querySelectorAll('main button:not(.button-plain), main a.button, main select')]"
            ".filter((one) => one.offsetParent).map((one) => [one.textContent.trim().slice(0, 30),"
            " one.getBoundingClientRect().width, one.getBoundingClientRect().height])"
        )
        if wrong := [one for one in sizes if min(one[1], one[2]) < 43.9]:
            small[address] = wrong
    context.close()
    assert small == {}


def type_by_keypad(page: Page, keys: list[str]) -> None:
    for key in keys:
        page.locator(f'[data-key="{key}"]').tap()


def test_the_keypad_types_whole_inches_then_sixteenths(browser: Browser, phone_shop: PhoneShop) -> None:
    context = phone_shop.phone(browser, "owner")
    page = context.new_page()
    page.goto(f"{phone_shop.address}/stock/{phone_shop.free_codes()[0]}/cut")
    field = page.get_by_role("textbox", name="Offcut 1, length")
    field.tap()
    type_by_keypad(page, ["2", "3", "1/2"])
    expect(field).to_have_value("23 1/2")
    type_by_keypad(page, ["7/16", "4"])
    expect(field).to_have_value("234 7/16")
    type_by_keypad(page, ["back", "back", "no fraction", "5/8"])
    expect(field).to_have_value("23 5/8")
    type_by_keypad(page, ["next"])
    expect(page.get_by_role("textbox", name="Offcut 1, width")).to_be_focused()
    type_by_keypad(page, ["3/4"])
    expect(page.get_by_role("textbox", name="Offcut 1, width")).to_have_value("3/4")
    type_by_keypad(page, ["done"])
    expect(page.locator(".keypad")).to_be_hidden()
    context.close()


@pytest.mark.parametrize("text", ["100%", "200%"])
def test_the_keypad_leaves_the_field_in_sight(browser: Browser, phone_shop: PhoneShop, text: str) -> None:
    context = phone_shop.phone(browser, "owner")
    page = context.new_page()
    page.goto(f"{phone_shop.address}/stock/{phone_shop.free_codes()[0]}/cut")
    page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", text)
    field = page.get_by_role("textbox", name="Offcut 1, length")
    field.tap()
    box, pad = field.bounding_box(), page.locator(".keypad").bounding_box()
    assert box and pad
    assert 0 <= box["y"] < box["y"] + box["height"] < pad["y"]
    context.close()
