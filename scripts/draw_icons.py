"""Draw the icons for a phone's first screen from our mark: python scripts/draw_icons.py (needs Chromium)."""

import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

FOLDER = Path(__file__).resolve().parents[1] / "shared" / "static" / "shared"
# Name, side in pixels, and how much of it the mark takes: a maskable icon's outer tenth may be cut off.
ICONS = [
    ("icon-180", 180, 0.86),
    ("icon-192", 192, 0.9),
    ("icon-512", 512, 0.9),
    ("icon-maskable", 512, 0.66),
]


def main() -> None:
    mark = (FOLDER / "mark.svg").read_text(encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, side, share in ICONS:
            page = browser.new_page(viewport={"width": side, "height": side})
            size, edge = round(side * share), round(side * (1 - share) / 2)
            page.set_content(
                f"<body style='margin:0;background:#fffdf7'><div style='margin:{edge}px;width:{size}px'>{mark}"
            )
            page.screenshot(path=FOLDER / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    main()
