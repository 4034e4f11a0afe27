"""A new user's whole way through the demo: from a parts list to printed labels and the job's cost."""

import re
from pathlib import Path
from urllib.parse import urlencode

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Page, expect

from tests.browser.conftest import ROOT, DemoShop

pytestmark = pytest.mark.browser

PARTS_LIST = ROOT / "fixtures" / "demo" / "parts" / "library-shelves.csv"
PLANNED_WITHIN_MS = 60_000


def test_from_a_parts_list_to_labels_and_cost(page: Page, demo_shop: DemoShop, tmp_path: Path) -> None:
    sign_in_once(page, demo_shop)
    job = take_on_a_job(page, demo_shop)
    bring_in_the_parts_list(page)
    plan_and_accept(page)
    receive_what_was_bought(page, demo_shop)
    saw_everything(page, demo_shop, job)
    codes = print_the_labels(page, demo_shop, tmp_path)
    assert codes
    page.goto(f"{demo_shop.address}/jobs/{job}/cost")
    charged = page.locator(".figure-value").first.inner_text()
    assert float(re.sub(r"[^0-9.]", "", charged)) > 0
    expect(page.locator("main")).to_contain_text("Behind the figures")
    page.goto(f"{demo_shop.address}/spend")
    row = page.locator("tr", has_text=job)
    expect(row).to_contain_text(charged)


def sign_in_once(page: Page, shop: DemoShop) -> None:
    page.goto(shop.sign_in["owner"])
    page.locator("main form button, form button").last.click()
    page.goto(shop.address)
    expect(page.locator("h1")).to_have_text("What waits")


def take_on_a_job(page: Page, shop: DemoShop) -> str:
    page.goto(f"{shop.address}/jobs/new")
    page.get_by_label("What it is").fill("Library shelves")
    page.get_by_label("For whom").fill("The Reading Room")
    page.get_by_role("button", name="Take it on").click()
    expect(page.locator("h1")).to_have_text("Parts list")
    found = re.search(r"/jobs/([^/]+)/parts", page.url)
    assert found
    return found[1]


def bring_in_the_parts_list(page: Page) -> None:
    page.set_input_files("#id_file", PARTS_LIST)
    page.get_by_role("button", name="Read the file").click()
    expect(page.locator("h1")).to_have_text("As it was understood")
    expect(page.locator("main")).to_contain_text("Every row is understood")
    page.get_by_role("button", name=re.compile(r"^Save \d+ parts")).click()
    caption = page.locator("table caption").first.inner_text()
    counted = re.match(r"(\d+) parts", caption)
    assert counted
    assert int(counted[1]) >= 60
    materials = set(page.locator('td[data-label="Material"]').all_inner_texts())
    assert len(materials) == 2


def plan_and_accept(page: Page) -> None:
    page.get_by_role("button", name="Plan the whole job").click()
    hold = page.get_by_role("button", name=re.compile("^Hold these pieces"))
    expect(hold).to_be_visible(timeout=PLANNED_WITHIN_MS)
    expect(page.locator(".layout svg").first).to_be_attached()
    hold.click()
    expect(page.locator("main")).to_contain_text("This is the plan the job is cut by")


def receive_what_was_bought(page: Page, shop: DemoShop) -> None:
    """Every open line for this job, supplier by supplier."""
    for number in range(1, 6):
        page.goto(f"{shop.address}/buying")
        lines = page.locator("form:has(input[name=line])", has_text="Library shelves")
        if not lines.count():
            return
        section = lines.first
        for box in section.locator("tr", has_text="Library shelves").locator("input[name=line]").all():
            box.check()
        section.get_by_role("button", name="What is ticked has arrived").click()
        page.get_by_label("Invoice or delivery number").fill(f"E2E-{number}")
        page.get_by_role("button", name="Put it on the rack, held for the job").click()
        expect(page.locator("main")).to_contain_text("held for the jobs")
    raise AssertionError("The buy list does not get shorter.")


def saw_everything(page: Page, shop: DemoShop, job: str) -> None:
    for _ in range(60):
        page.goto(f"{shop.address}/jobs/{job}/saw")
        pull = page.get_by_role("button", name=re.compile("^Pull"))
        if pull.count():
            pull.click()
            # The page sends the tap itself and then shows the next step.
            expect(page.get_by_role("link", name=re.compile("^It is cut: say"))).to_be_visible()
        cut = page.get_by_role("link", name=re.compile("^It is cut"))
        if not cut.count():
            break
        cut.click()
        page.get_by_role("button", name=re.compile("^It is cut")).click()
        expect(page.locator("h1")).to_have_text("At the saw")
    expect(page.locator("main")).to_contain_text("All pieces of the plan are cut.")


def print_the_labels(page: Page, shop: DemoShop, folder: Path) -> set[str]:
    """The waiting labels as a PDF, read back by a decoder of another make; the codes it found."""
    page.goto(f"{shop.address}/labels")
    form = page.locator("form:has(select[name=layout])")
    fields = form.evaluate(
        "form => Array.from(new FormData(form)).map(([name, value]) => [name, String(value)])"
    )
    token = next(value for name, value in fields if name == "csrfmiddlewaretoken")
    body = urlencode([(name, value) for name, value in fields])
    answer = page.request.post(
        f"{shop.address}/labels/pdf",
        data=body,
        headers={
            "content-type": "application/x-www-form-urlencoded",
            "x-csrftoken": token,
            "referer": f"{shop.address}/labels",
        },
    )
    assert answer.ok, answer.status
    (folder / "labels.pdf").write_bytes(answer.body())
    codes: set[str] = set()
    for sheet in pypdfium2.PdfDocument(folder / "labels.pdf"):
        picture = sheet.render(scale=300 / 72).to_pil()
        codes |= {found.text.rsplit("/", 1)[1] for found in zxingcpp.read_barcodes(picture)}
    waiting = page.locator("table .code").all_inner_texts()
    assert codes == {code.replace("-", "").strip() for code in waiting}
    return codes
