"""A real browser against a real shop: `manage.py start --demo` in a folder of its own.

Without Chromium these tests are skipped; with SAWBUCK_REQUIRE_BROWSER=1, as in CI, that is a failure.
"""

import os
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.browser.phone_shop import PhoneShop

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = os.environ.get("SAWBUCK_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
READY_WITHIN_S = 120


@dataclass(frozen=True)
class DemoShop:
    """Where it is served, and how its people sign in, once each."""

    address: str
    sign_in: dict[str, str]


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    if not CHROMIUM:
        if os.environ.get("SAWBUCK_REQUIRE_BROWSER") == "1":
            pytest.fail("No Chromium on this machine, and it is required here.")
        pytest.skip("No Chromium on this machine: install it, or set SAWBUCK_CHROMIUM to its path.")
    return {**browser_type_launch_args, "executable_path": CHROMIUM, "args": ARGUMENTS}


@pytest.fixture(scope="session")
def demo_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoShop]:
    """The demo, set up and served by the command of the README, on a port nobody uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    kept_out = ("DATABASE_URL", "DJANGO_SETTINGS_MODULE", "SAWBUCK_DEBUG")
    environment = {name: value for name, value in os.environ.items() if name not in kept_out}
    environment["SAWBUCK_DATA"] = str(tmp_path_factory.mktemp("demo"))
    server = subprocess.Popen(
        [sys.executable, "manage.py", "start", "--demo", "--port", str(port)],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield _when_ready(server)
    finally:
        server.terminate()
        try:
            server.wait(timeout=20)
        except subprocess.TimeoutExpired:
            server.kill()


def _when_ready(server: subprocess.Popen[str]) -> DemoShop:
    assert server.stdout
    address, links, said = "", {}, []
    for line in server.stdout:
        said.append(line)
        if found := re.search(r"open at (http://\S+)", line):
            address = found[1]
        if found := re.search(r"Sign in as (\w+), once.*: (http://\S+)", line):
            links[found[1]] = found[2]
        if line.startswith("Stop with"):
            return DemoShop(address, links)
    raise AssertionError("The demo did not start:\n" + "".join(said))


@pytest.fixture(scope="session")
def phone_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[PhoneShop]:
    """Another demo, for tests that pull, cut, count and kill its server."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    shop = PhoneShop(tmp_path_factory.mktemp("phones"), port)
    for command in (
        ["migrate", "--verbosity", "0"],
        ["collectstatic", "--no-input", "-v", "0"],
        ["load_demo"],
    ):
        shop.manage(*command)
    shop.serve()
    yield shop
    shop.kill()
