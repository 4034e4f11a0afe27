"""Spreadsheet files (xlsx, ods, xls) to a grid, in a process of their own.

calamine lays out the whole sheet up to its last cell before it can be asked how large that is, so that a file
of a few kilobytes can ask for hundreds of gigabytes; Rust then ends the process. Here that is a process with
a limit on its memory and time (`workbook_process`), and the server lives on.
"""

import io
import json
import sys
import zipfile
from pathlib import Path
from subprocess import DEVNULL, PIPE, TimeoutExpired, run

from jobs.partslist.grid import Grid, NotAPartsList

MOST_UNPACKED_BYTES = 60 * 1024 * 1024
MOST_SECONDS = 20
_CHECKOUT = Path(__file__).resolve().parents[2]
DAMAGED = "It is damaged or no spreadsheet. Open it in a spreadsheet program and save it anew."
_NO_ANSWER = (
    "It is damaged, or asks for more room than a list needs. Copy the parts list into a new spreadsheet "
    "and upload that."
)
LOCKED = "It is protected with a password. Save it without one and upload it again."


def read_workbook(data: bytes, sheet: str = "") -> Grid:
    """The grid in a spreadsheet file: of the sheet named, else of the first that has a header we know.

    Raises NotAPartsList for a file that is locked, damaged, too large once unpacked or without rows.
    """
    refuse_zip_bomb(data)
    command = [sys.executable, "-m", "jobs.partslist.workbook_process"]
    request = json.dumps(sheet).encode() + b"\n" + data
    try:
        reader = run(command, input=request, stdout=PIPE, stderr=DEVNULL, timeout=MOST_SECONDS, cwd=_CHECKOUT)
    except TimeoutExpired:
        raise NotAPartsList(
            "It takes too long to read. Save only the parts list and upload it again."
        ) from None
    answer = json.loads(reader.stdout) if reader.returncode == 0 else {"refused": _NO_ANSWER}
    if "refused" in answer:
        raise NotAPartsList(answer["refused"])
    return Grid.from_json(answer)


def refuse_zip_bomb(data: bytes) -> None:
    """Raises NotAPartsList where a zipped spreadsheet is broken, locked or unpacks to more than is sane."""
    if not data.startswith(b"PK"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            members = packed.infolist()
    except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError, EOFError):
        raise NotAPartsList(DAMAGED) from None
    if sum(member.file_size for member in members) > MOST_UNPACKED_BYTES:
        raise NotAPartsList(
            "It unpacks to more than any parts list holds. Save only the parts list and upload it again."
        )
    if any(member.flag_bits & 1 for member in members):
        raise NotAPartsList(LOCKED)
