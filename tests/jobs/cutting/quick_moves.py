"""The compiled moves, where they are at hand."""

import os

import pytest

from jobs.cutting.search import ready
from jobs.cutting.search.accelerate import Moves, compiled


def quick_moves() -> Moves:
    """Skips the test where nothing was compiled; with SAWBUCK_REQUIRE_COMPILED=1, as in CI, that is a failure."""
    if ready.is_ready():
        return compiled()
    said = "The search is not compiled: manage.py cutplan --compile"
    if os.environ.get("SAWBUCK_REQUIRE_COMPILED") == "1":
        pytest.fail(said)
    pytest.skip(said)
