"""A demo shop for phones: its server can be killed in the middle of things and started again."""

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from playwright.sync_api import Browser, BrowserContext, Page

ROOT = Path(__file__).resolve().parents[2]
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}
OPEN_WITHIN_S = 60


def environment(folder: Path) -> dict[str, str]:
    kept_out = ("DATABASE_URL", "DJANGO_SETTINGS_MODULE", "SAWBUCK_DEBUG")
    kept = {name: value for name, value in os.environ.items() if name not in kept_out}
    return {**kept, "SAWBUCK_DATA": str(folder), "SAWBUCK_DEMO": "1", "PYTHONPATH": str(ROOT)}


@dataclass
class PhoneShop:
    """One demo shop on one port. The address is localhost, where a browser allows the camera without https."""

    folder: Path
    port: int
    server: subprocess.Popen[bytes] | None = None
    states: dict[str, Any] = field(default_factory=dict)

    @property
    def address(self) -> str:
        return f"http://localhost:{self.port}"

    def serve(self) -> None:
        command = ["-m", "gunicorn", "shared.wsgi:application", "--bind", f"127.0.0.1:{self.port}"]
        command += ["--workers", "2", "--threads", "4", "--no-control-socket"]
        self.server = subprocess.Popen(
            [sys.executable, *command],
            cwd=ROOT,
            env=environment(self.folder),
            start_new_session=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        by_then = time.monotonic() + OPEN_WITHIN_S
        while time.monotonic() < by_then:
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise AssertionError("the server does not open")

    def kill(self) -> None:
        """As a power cut would: nothing is finished."""
        if self.server:
            os.killpg(self.server.pid, signal.SIGKILL)
            self.server.wait()
            self.server = None

    def manage(self, *command: str) -> str:
        done = subprocess.run(
            [sys.executable, "manage.py", *command],
            cwd=ROOT,
            env=environment(self.folder),
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout

    def rows(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        """What the database holds, read beside the server."""
        with sqlite3.connect(self.folder / "demo.sqlite3") as base:
            return base.execute(query, values).fetchall()

    def new_link(self, person: str) -> str:
        said = self.manage("sign_in_link", person)
        path = next(word for word in said.split() if "/sign-in/once/" in word)
        return f"{self.address}/sign-in/once/{path.rpartition('/once/')[2]}"

    def phone(self, browser: Browser, person: str, **others: Any) -> BrowserContext:
        """A phone on which this person is signed in."""
        context = browser.new_context(
            **{**PHONE, **others}, storage_state=self.states.get(person), permissions=["camera"]
        )
        if person not in self.states:
            page = context.new_page()
            sign_in(page, self.new_link(person))
            page.close()
            self.states[person] = context.storage_state()
        return context

    def labels(self, page: Page, codes: list[str], layout: str = "roll-3x2in") -> bytes:
        """The labels of these, as the labels page makes them."""
        page.goto(f"{self.address}/labels?codes={','.join(codes)}")
        token = page.locator("input[name=csrfmiddlewaretoken]").first.get_attribute("value") or ""
        fields = [("csrfmiddlewaretoken", token), ("layout", layout), ("start", "1")]
        fields += [("offset_x_mm", "0"), ("offset_y_mm", "0"), *(("code", code) for code in codes)]
        answer = page.request.post(
            f"{self.address}/labels/pdf",
            data=urlencode(fields),
            headers={
                "content-type": "application/x-www-form-urlencoded",
                "referer": f"{self.address}/labels",
            },
        )
        assert answer.ok, answer.status
        return answer.body()

    def free_codes(self) -> list[str]:
        """Pieces on the rack that no job holds."""
        found = self.rows(
            "SELECT code FROM inventory_piece WHERE state = 'rack'"
            " AND id NOT IN (SELECT piece_id FROM jobs_hold) ORDER BY kind = 'offcut' DESC, code"
        )
        return [code for (code,) in found]


def sign_in(page: Page, link: str) -> None:
    page.goto(link)
    page.locator("button").last.click()
    page.wait_for_load_state()
