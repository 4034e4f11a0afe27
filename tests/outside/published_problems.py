"""Published cutting problems as problems of the planning format. Their sources stand in the files' heads."""

import json
from functools import cache
from pathlib import Path

from jobs.cutting.pricing import Way

FOLDER = Path(__file__).parent / "data" / "problems"


@cache
def published(family):
    """The problems of one family."""
    return json.loads((FOLDER / f"{family}.json").read_text(encoding="utf-8"))["instances"]


def as_problem(row, *, may_turn, by_area=False):
    """One of them in the planning format: no kerf, no trim, every sheet to buy, at its cost or by its area."""
    stock = [
        {"id": f"sheet {number}: {length} × {width}", "length": length, "width": width, "buy": True}
        | {"cost": length * width if by_area else cost}
        | ({} if count is None else {"quantity": count})
        for number, (length, width, cost, count) in enumerate(row["bins"], 1)
    ]
    parts = [
        {
            "id": f"part {number}",
            "length": length,
            "width": width,
            "quantity": copies,
            "grain": "any" if may_turn else "length",
        }
        for number, (length, width, copies) in enumerate(row["items"], 1)
    ]
    return {"unit": "mm", "kerf": 0, "stock": stock, "parts": parts, "time_limit_s": 5, "seed": 0}


def as_one_sheet(row):
    """One of those with values: the size of the sheet, the ways to lie and the value of each part."""
    [[long, wide, _, _]] = row["bins"]
    ways = [
        Way(at, length, width, copies, False) for at, (length, width, copies, _) in enumerate(row["items"])
    ]
    return (long, wide), ways, [value for _, _, _, value in row["items"]]
