"""Spreadsheet files (xlsx, ods, xls) to a grid, in a process of their own.

calamine lays out the whole sheet up to its last cell before it can be asked how large that is, so that a file
of a few kilobytes can ask for hundreds of gigabytes; Rust then ends the process. Damaged files make it panic.
Here that is a process with a limit on its memory and time (`workbook_process`), and the server lives on.
"""

import json
import sys
from pathlib import Path
from subprocess import DEVNULL, PIPE, TimeoutExpired, run

from jobs.partslist.grid import Grid, NotAPartsList

MOST_SECONDS = 20
_CHECKOUT = Path(__file__).resolve().parents[2]
_COMMAND = (sys.executable, "-m", "jobs.partslist.workbook_process")


def read_workbook(data: bytes, sheet: str = "") -> Grid:
    """The grid in a spreadsheet file: of the sheet named, else of the first that has a header we know.

    Raises NotAPartsList for a file that is locked, damaged, too large once unpacked or without rows.
    """
    request = json.dumps(sheet).encode() + b"\n" + data
    try:
        reader = run(
            _COMMAND, input=request, stdout=PIPE, stderr=DEVNULL, timeout=MOST_SECONDS, cwd=_CHECKOUT
        )
    except TimeoutExpired:
        raise NotAPartsList("It takes too long to read. Save only the list in a new file.") from None
    if reader.returncode != 0:
        raise NotAPartsList(
            "It is damaged, or asks for more room than a list needs. Copy the list into a new spreadsheet."
        )
    answer = json.loads(reader.stdout)
    if "refused" in answer:
        raise NotAPartsList(answer["refused"])
    return Grid.from_json(answer)
