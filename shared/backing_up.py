"""A copy of the whole shop in one file, made while people work."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile

from django.core.files.storage import default_storage
from django.db import connection

DATABASE = "sawbuck.sqlite3"
PHOTOS = "media"


class CannotBackUp(Exception):  # noqa: N818 - raised and read as "Sawbuck cannot back up"
    """Why no copy was made, and what would do."""


def back_up(to: Path) -> int:
    """Copy database and photos into a new zip file that only its owner can read; returns its size in bytes.

    Unpacked into an empty data folder it is the shop again. The file gets its name when it is whole, so that a
    file of that name always is. Raises CannotBackUp.
    """
    photos = Path(default_storage.path(""))
    if connection.vendor != "sqlite":
        raise CannotBackUp(
            f'The shop is kept in PostgreSQL. Use pg_dump --format=custom "$DATABASE_URL", and copy {photos}.'
        )
    if to.exists():
        raise CannotBackUp(f"{to} is there already. Give the copy another name.")
    try:
        with TemporaryDirectory(prefix=".unfinished-", dir=to.parent) as folder:
            whole = Path(folder) / "backup.zip"
            _pack(whole, photos)
            whole.rename(to)
    except (OSError, sqlite3.Error) as error:
        raise CannotBackUp(f"{to} can't be written: {error}.") from error
    return to.stat().st_size


def _pack(whole: Path, photos: Path) -> None:
    os.close(os.open(whole, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    database = whole.with_name(DATABASE)
    _copy_database(database)
    with ZipFile(whole, "w") as file:
        file.write(database, DATABASE, ZIP_DEFLATED)
        # After the database, so that every photo it names is there; one thrown away meanwhile is skipped.
        for photo in sorted(path for path in photos.rglob("*") if path.is_file()):
            try:
                content = photo.read_bytes()
            except FileNotFoundError:
                continue
            file.writestr(f"{PHOTOS}/{photo.relative_to(photos).as_posix()}", content, ZIP_STORED)


def _copy_database(to: Path) -> None:
    """SQLite's own backup takes one moment's whole state, also while others write (sqlite.org/backup.html)."""
    connection.ensure_connection()
    with closing(sqlite3.connect(to)) as copy:
        connection.connection.backup(copy)
        # All in one file: without this it would open with a log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")
        (said,) = copy.execute("PRAGMA quick_check").fetchone()
        if said != "ok":
            raise sqlite3.DatabaseError(f"the copy is not whole ({said})")
