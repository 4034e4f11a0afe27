"""Compiles the planner's search in a process of its own, so that no one who plans waits for it."""

import subprocess
import sys

from django.conf import settings

from jobs.cutting.search import ready


def compile_apart() -> bool:
    """Begin to compile, at low priority, what is not compiled yet; whether it was begun.

    It goes on for about half a minute after this process has ended; until then plans are searched with plain
    moves, which give the same plan for the same number of steps.
    """
    if not settings.COMPILES_THE_SEARCH or not ready.can_compile():
        return False
    if ready.is_ready() or ready.is_being_compiled():
        return False
    subprocess.Popen(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "cutplan", "--compile"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    return True
