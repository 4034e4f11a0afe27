"""A copy of the shop's database, made while people work."""

import contextlib
import os
import sqlite3
from pathlib import Path

from django.db import connection


class CannotBackUp(Exception):  # noqa: N818 - raised and read as "Sawbuck cannot back up"
    """Why no copy was made, and what would do."""


def back_up(to: Path) -> int:
    """Copy the shop's SQLite database to a new file that only its owner can read; returns its size in bytes.

    SQLite's own backup takes one moment's whole state, also while others write (sqlite.org/backup.html). The
    copy is checked before it gets its name, so that a file of that name is always whole. Raises CannotBackUp.
    """
    if connection.vendor != "sqlite":
        raise CannotBackUp('The shop is kept in PostgreSQL. Use pg_dump --format=custom "$DATABASE_URL".')
    if to.exists():
        raise CannotBackUp(f"{to} is there already. Give the copy another name.")
    unfinished = to.with_name(f"{to.name}.unfinished")
    try:
        unfinished.unlink(missing_ok=True)
        os.close(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        _copy(unfinished)
        unfinished.rename(to)
    except (OSError, sqlite3.Error) as error:
        with contextlib.suppress(OSError):
            unfinished.unlink(missing_ok=True)
        raise CannotBackUp(f"{to} can't be written: {error}.") from error
    return to.stat().st_size


def _copy(to: Path) -> None:
    connection.ensure_connection()
    with contextlib.closing(sqlite3.connect(to)) as copy:
        connection.connection.backup(copy)
        # A copy in one file: without this it would open with a log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")
        (said,) = copy.execute("PRAGMA quick_check").fetchone()
        if said != "ok":
            raise sqlite3.DatabaseError(f"the copy is not whole ({said})")
