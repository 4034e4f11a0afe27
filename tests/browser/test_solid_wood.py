"""What script adds for solid wood: a flaw marked by two taps, a match set put in order by dragging."""

import re

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.phone_shop import PhoneShop

pytestmark = pytest.mark.browser


@pytest.fixture
def phone(browser: Browser, phone_shop: PhoneShop) -> Page:
    return phone_shop.phone(browser, "owner").new_page()


def a_board(shop: PhoneShop) -> str:
    """One without flaws, on the rack and held by no job."""
    rows = shop.rows(
        "SELECT code FROM inventory_piece WHERE kind = 'board' AND state = 'rack'"
        " AND id NOT IN (SELECT piece_id FROM jobs_hold) AND id NOT IN (SELECT piece_id FROM inventory_flaw)"
    )
    return str(rows[0][0])


def tap_on_the_board(page: Page, along: float, across: float) -> None:
    """At these shares of its length and width, in the drawing as it is on the screen."""
    box = page.locator("[data-mark-flaws] svg rect.part").bounding_box()
    assert box
    assert box["height"] >= 44  # a finger's width, however slender the board
    page.touchscreen.tap(box["x"] + along * box["width"], box["y"] + across * box["height"])


def a_match_set(shop: PhoneShop) -> tuple[str, str]:
    """The number of a job and the name of a set in it that is still to be cut."""
    rows = shop.rows(
        "SELECT job.number, part.match_set FROM jobs_part part JOIN jobs_job job ON job.id = part.job_id"
        " WHERE part.match_set <> '' AND part.cut = 0 GROUP BY job.number, part.match_set"
        " HAVING SUM(part.quantity) > 2 ORDER BY job.number"
    )
    return str(rows[0][0]), str(rows[0][1])


def test_a_flaw_is_marked_by_two_taps_on_the_drawing(phone: Page, phone_shop: PhoneShop) -> None:
    code = a_board(phone_shop)
    phone.goto(f"{phone_shop.address}/stock/{code}/flaws")
    for along, across in ((0.05, 0.2), (0.15, 0.7)):
        tap_on_the_board(phone, along, across)
    expect(phone.locator('[name="flaws-0-x"]')).not_to_have_value("")
    phone.locator('[name="flaws-0-why"]').fill("knot")
    phone.get_by_role("button", name="Keep these flaws").tap()
    expect(phone.locator("main")).to_contain_text("1 flaw is marked")
    ((length, width, x, y, long, wide),) = phone_shop.rows(
        "SELECT piece.length, piece.width, flaw.x, flaw.y, flaw.length, flaw.width FROM inventory_flaw flaw"
        " JOIN inventory_piece piece ON piece.id = flaw.piece_id WHERE piece.code = ?",
        code,
    )
    assert abs(x / length - 0.05) < 0.02
    assert abs(long / length - 0.1) < 0.02
    assert abs(y / width - 0.2) < 0.05
    assert abs(wide / width - 0.5) < 0.05


def test_a_match_set_is_put_in_order_by_dragging_and_by_keys(phone: Page, phone_shop: PhoneShop) -> None:
    number, name = a_match_set(phone_shop)
    phone.goto(f"{phone_shop.address}/jobs/{number}/sets/{name}")
    before = names(phone)
    handles = phone.locator("[data-drag-handle]")
    drag(phone, handles.nth(0), handles.nth(1))
    assert names(phone) == [before[1], before[0], *before[2:]]
    phone.locator("[data-drag-handle]").nth(1).press("ArrowUp")
    assert names(phone) == before
    phone.locator("[data-drag-handle]").nth(0).press("ArrowDown")
    numbers = phone.locator('[data-drag-order] [name^="order_"]')
    assert [numbers.nth(place).input_value() for place in range(2)] == ["1", "2"]
    phone.get_by_role("button", name="Keep this order").tap()
    expect(phone.locator("main")).to_contain_text("lies as you numbered it")
    assert names(phone)[:2] == [before[1], before[0]]


def names(page: Page) -> list[str]:
    rows = page.locator('[data-drag-order] th[scope="row"]')
    return [re.sub(r"^\W+", "", text).strip() for text in rows.all_inner_texts()]


def drag(page: Page, handle: Locator, to: Locator) -> None:
    """With the pointer, as a finger or a mouse does."""
    start, end = handle.bounding_box(), to.bounding_box()
    assert start
    assert end
    page.mouse.move(start["x"] + 5, start["y"] + 5)
    page.mouse.down()
    page.mouse.move(end["x"] + 5, end["y"] + 10, steps=4)
    page.mouse.move(end["x"] + 5, end["y"] + end["height"] + 30, steps=4)
    page.mouse.up()
