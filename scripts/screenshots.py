"""Takes the README's pictures from the demo: `python scripts/screenshots.py [FOLDER]`, docs/ by default.

Starts the demo in a folder that goes away, as `manage.py start --demo` does, and opens it in Chromium.
"""

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
CHROMIUM = os.environ.get("SAWBUCK_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
DESK, PHONE = (1280, 800), (360, 740)
COLOURS = 64  # pages are flat colours; more would only make the files larger


def main(folder: Path) -> None:
    folder.mkdir(exist_ok=True)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.TemporaryDirectory() as data:
        server = subprocess.Popen(
            [sys.executable, str(ROOT / "manage.py"), "start", "--demo", "--port", str(port)],
            env={**os.environ, "SAWBUCK_DATA": data, "PYTHONUNBUFFERED": "1"},
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            take_all(way_in(server), folder)
        finally:
            server.terminate()
            server.wait(timeout=30)


def way_in(server: "subprocess.Popen[str]") -> str:
    """The owner's link, once the demo is served."""
    link = ""
    for line in server.stdout or ():
        if found := re.search(r"Sign in as owner, once.*: (http\S+)", line):
            link = found[1]
        if line.startswith("Stop with"):
            return link
    raise SystemExit("The demo did not start.")


def take_all(link: str, folder: Path) -> None:
    address = link.partition("/sign-in/")[0]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page()
        page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
        page.goto(link)
        page.get_by_role("button", name="Sign in").click()
        bench, chest = (job_called(page, address, name) for name in ("bench", "chest"))
        take(page, f"{address}/jobs/{bench}/plan", folder / "plan.png", DESK, height=1050)
        draw(page, folder / "layout.png")
        take(page, f"{address}/jobs/{chest}/cost", folder / "cost.png", DESK)
        take(page, f"{address}/stock", folder / "stock.png", DESK)
        take(page, f"{address}/jobs/{bench}/saw", folder / "saw-phone.png", PHONE, height=1100)
        page.goto(f"{address}/stock?kind=offcut&length=40")
        offcut = page.locator("main table .row-head a").first.get_attribute("href") or ""
        scanned = f"{address}{offcut.replace('/stock/', '/s/')}"
        take(page, scanned, folder / "piece-phone.png", PHONE, height=1100)
        browser.close()


def job_called(page: Page, address: str, word: str) -> str:
    """The number of the job whose title has this word."""
    page.goto(f"{address}/jobs?state=all")
    row = page.locator("main tr", has_text=word).first
    href = row.locator("a").first.get_attribute("href") or ""
    return href.rstrip("/").rpartition("/")[2]


def draw(page: Page, file: Path) -> None:
    """The drawing of the sheet that is bought, from the plan's page."""
    page.locator("article", has_text="To buy 96").first.screenshot(path=file)
    shrink(file)


def take(page: Page, address: str, file: Path, size: tuple[int, int], *, height: int | None = None) -> None:
    """A picture of what one sees first; `height` shows more than a screen of it."""
    page.set_viewport_size({"width": size[0], "height": height or size[1]})
    page.goto(address)
    page.screenshot(path=file)
    shrink(file)


def shrink(file: Path) -> None:
    with Image.open(file) as picture:
        picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)
    print(f"{file.name}: {file.stat().st_size // 1024} KB")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "docs")
