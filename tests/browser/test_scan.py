"""The scan page in a real browser, its camera fed with a film of labels this tool printed."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import qrcode
from PIL import Image, ImageDraw
from playwright.sync_api import Page, expect

from shared import codes
from tests.browser import camera
from tests.browser.phone_shop import PhoneShop

pytestmark = pytest.mark.browser

Launch = Callable[..., Any]
READ_WITHIN_MS = 20_000


@contextmanager
def scan_page(launch: Launch, shop: PhoneShop, arguments: list[str]) -> Iterator[Page]:
    """The scan page on a phone whose camera sees what the arguments say."""
    shown = launch(args=["--no-sandbox", "--disable-gpu", *arguments])
    try:
        page = shop.phone(shown, "owner").new_page()
        page.goto(f"{shop.address}/scan")
        yield page
    finally:
        shown.close()


@pytest.fixture
def labels(launch_browser: Launch, phone_shop: PhoneShop) -> Callable[[list[str]], bytes]:
    """Labels as PDF, printed by the shop."""

    def made(codes: list[str]) -> bytes:
        shown = launch_browser()
        try:
            return phone_shop.labels(phone_shop.phone(shown, "owner").new_page(), codes)
        finally:
            shown.close()

    return made


def test_a_label_is_read_pulled_and_cut_and_the_new_label_waits(
    launch_browser: Launch, phone_shop: PhoneShop, labels: Callable[[list[str]], bytes], tmp_path: Path
) -> None:
    code = phone_shop.free_codes()[0]
    film = camera.film([camera.picture_of_label(labels([code]))], tmp_path, seconds_each=1)
    with scan_page(launch_browser, phone_shop, camera.arguments(film)) as page:
        card = page.locator(".scan-card")
        expect(card).to_contain_text(f"{code[:3]}-{code[3:]}", timeout=READ_WITHIN_MS)
        page.get_by_role("button", name="Pull it").tap()
        expect(page.locator("[data-scan-status]")).to_contain_text("is pulled", timeout=READ_WITHIN_MS)
        card.get_by_role("link", name="Cut it").tap()
        page.get_by_label("Offcut 1, length").fill("5")
        page.get_by_label("Offcut 1, width").fill("4")
        page.get_by_role("button", name="It is cut").tap()
        said = page.locator("[data-said]")
        expect(said).to_contain_text("New labels wait to be printed", timeout=READ_WITHIN_MS)
        new = said.inner_text().rpartition(":")[2].strip(" .\n")
        page.goto(f"{phone_shop.address}/labels")
        expect(page.locator("table")).to_contain_text(new)


def test_ten_labels_in_a_row_without_leaving_the_page(
    launch_browser: Launch, phone_shop: PhoneShop, labels: Callable[[list[str]], bytes], tmp_path: Path
) -> None:
    codes = phone_shop.free_codes()[1:11]
    printed = labels(codes)
    pictures = [camera.picture_of_label(printed, number) for number in range(10)]
    film = camera.film(pictures, tmp_path, seconds_each=1.5)
    with scan_page(launch_browser, phone_shop, camera.arguments(film)) as page:
        page.evaluate(
            "() => { window.seen = new Set(); document.addEventListener('sawbuck:part',"
            " (event) => window.seen.add(event.detail.dataset.piece)) }"
        )
        seen: set[str] = set()
        for _ in range(120):
            seen = set(page.evaluate("() => [...window.seen]"))
            if seen >= set(codes):
                break
            page.wait_for_timeout(500)
        assert seen == set(codes)
        assert page.url == f"{phone_shop.address}/scan"


def test_no_permission_is_a_sentence_and_typing_still_works(
    launch_browser: Launch, phone_shop: PhoneShop
) -> None:
    code = phone_shop.free_codes()[0]
    shown = launch_browser(args=["--no-sandbox", "--disable-gpu", "--use-fake-device-for-media-stream"])
    try:
        context = phone_shop.phone(shown, "owner")
        context.clear_permissions()
        page = context.new_page()
        page.goto(f"{phone_shop.address}/scan")
        status = page.locator("[data-scan-status]")
        expect(status).to_contain_text("The camera is not allowed for this page", timeout=READ_WITHIN_MS)
        page.get_by_label("Or type the six signs").fill(code.lower())
        page.keyboard.press("Enter")
        expect(page.locator(".scan-card")).to_contain_text(f"{code[:3]}-{code[3:]}")
        assert page.url == f"{phone_shop.address}/scan"
    finally:
        shown.close()


def test_no_camera_is_a_sentence(launch_browser: Launch, phone_shop: PhoneShop, tmp_path: Path) -> None:
    missing = camera.arguments(tmp_path / "nothing.mjpeg")
    with scan_page(launch_browser, phone_shop, missing) as page:
        status = page.locator("[data-scan-status]")
        expect(status).to_contain_text("No camera was found", timeout=READ_WITHIN_MS)


def picture_of_qr(text: str) -> Image.Image:
    frame = Image.new("RGB", camera.SIZE, "white")
    frame.paste(qrcode.make(text).get_image().resize((360, 360)), (140, 60))
    return frame


@pytest.mark.parametrize(
    "text", ["https://example.org/s/K7M2Q8", "WIFI:S:bench;P:dust;;", "https://example.org"]
)
def test_a_foreign_square_is_told_and_never_followed(
    launch_browser: Launch, phone_shop: PhoneShop, tmp_path: Path, text: str
) -> None:
    film = camera.film([picture_of_qr(text)], tmp_path, seconds_each=1)
    with scan_page(launch_browser, phone_shop, camera.arguments(film)) as page:
        status = page.locator("[data-scan-status]")
        expect(status).to_contain_text("not from a label of this shop", timeout=READ_WITHIN_MS)
        expect(status).to_contain_text(text)
        assert page.url == f"{phone_shop.address}/scan"


def test_a_label_of_ours_that_nobody_knows_is_told(
    launch_browser: Launch, phone_shop: PhoneShop, tmp_path: Path
) -> None:
    never_given = codes.code_for(19_999_999)
    picture = picture_of_qr(f"{phone_shop.address}/S/{never_given}".upper())
    film = camera.film([picture], tmp_path, seconds_each=1)
    with scan_page(launch_browser, phone_shop, camera.arguments(film)) as page:
        card = page.locator(".scan-card-careful")
        expect(card).to_contain_text("Not found.", timeout=READ_WITHIN_MS)


def test_a_damaged_square_gets_advice(
    launch_browser: Launch, phone_shop: PhoneShop, labels: Callable[[list[str]], bytes], tmp_path: Path
) -> None:
    picture = camera.picture_of_label(labels(phone_shop.free_codes()[:1]))
    ImageDraw.Draw(picture).rectangle((0, 0, 320, 300), fill=(90, 70, 50))
    film = camera.film([picture], tmp_path, seconds_each=1)
    with scan_page(launch_browser, phone_shop, camera.arguments(film)) as page:
        status = page.locator("[data-scan-status]")
        expect(status).to_contain_text("Nothing is read yet", timeout=READ_WITHIN_MS)
