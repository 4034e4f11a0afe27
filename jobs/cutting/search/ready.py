"""Whether the search is compiled: notes beside numba's cache, for this code, Python and processor."""

from __future__ import annotations

import hashlib
import importlib.metadata
import importlib.util
import os
import sys
import time
from contextlib import suppress
from functools import cache
from pathlib import Path

from jobs.cutting.search import blocks, cells, closing, decoder, kernel, walk

# Who began compiling so long ago has given up.
STALE_SECONDS = 600
# Where a note may lie: beside the code or, where that can't be written, with the user.
FOLDERS = (Path(__file__).parent / "__pycache__", Path.home() / ".cache" / "sawbuck")


@cache
def _mark() -> str:
    """What tells one version of the compiled code from another."""
    modules = (kernel, walk, decoder, closing, cells, blocks)
    code = b"".join(Path(str(module.__file__)).read_bytes() for module in modules)
    versions = f"{importlib.metadata.version('numba')} {sys.version}"
    return hashlib.sha256(code + versions.encode()).hexdigest()[:16]


def _notes(name: str) -> list[Path]:
    return [folder / f"{name}-{_mark()}" for folder in FOLDERS]


def _write(name: str, text: str) -> bool:
    """Leave a note in the first folder that takes it; false where someone else's is there or none does."""
    for note in _notes(name):
        try:
            os.makedirs(note.parent, exist_ok=True)
        except OSError:
            continue
        try:
            with note.open("x", encoding="utf-8") as file:
                file.write(text)
        except FileExistsError:
            return False
        except OSError:
            continue
        return True
    return False


def _remove(*notes: Path) -> None:
    for note in notes:
        with suppress(OSError):
            note.unlink()


def can_compile() -> bool:
    """Whether numba is installed."""
    return importlib.util.find_spec("numba") is not None


def is_ready() -> bool:
    """Whether the moves were compiled ahead."""
    return can_compile() and any(note.exists() for note in _notes("compiled"))


def is_being_compiled() -> bool:
    """Whether another process is at it."""
    begun = (note.stat().st_mtime for note in _notes("compiling") if note.exists())
    return any(time.time() - at < STALE_SECONDS for at in begun)


def begin() -> bool:
    """Say that this process compiles; false where another one is at it."""
    if is_being_compiled():
        return False
    _remove(*_notes("compiling"), *_notes("compiled"))
    return _write("compiling", "")


def end(*, done: bool) -> None:
    """Say that it is compiled, or that it did not come to that."""
    if done:
        _write("compiled", _processor())
    _remove(*_notes("compiling"))


def is_for_this_processor() -> bool:
    """Compiled on another machine, numba would silently do it all again."""
    note = next(note for note in _notes("compiled") if note.exists())
    return note.read_text(encoding="utf-8") == _processor()


def _processor() -> str:
    from llvmlite import binding

    return f"{binding.get_host_cpu_name()} {binding.get_host_cpu_features().flatten()}"
