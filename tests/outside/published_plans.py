"""Published furniture plans and bills of material, as makers write them into their own files.

data/published_plans.json: each entry names its source, what was read there and what is reckoned from it.
"""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from tests.jobs.partslist.books import csv_file, xlsx_file

Published = dict[str, Any]

PLANS: list[Published] = json.loads(
    (Path(__file__).parent / "data/published_plans.json").read_text(encoding="utf-8")
)
TICKS = {"in": 1_016_000, "mm": 40_000}
SHEET_GOODS = {"plywood", "MDF"}
HOW_WRITTEN = ("commas", "semicolons", "tabs", "commas", "xlsx")


def name_of(plan: Published) -> str:
    """Its name in a test report."""
    return plan["name"]


def stated(text: str) -> Fraction:
    """A printed size: 12, 3/4, 23 1/2."""
    return sum(map(Fraction, text.split()), Fraction(0))


def ticks(text: str, unit: str) -> int:
    """A printed size in ticks, by the definition of the tick alone."""
    exact = stated(text) * TICKS[unit]
    assert exact.denominator == 1
    return exact.numerator


def wood(plan: Published, part: Published) -> str:
    """What the list says a part is of; nothing where the publication does not say."""
    said = part.get("material") or part.get("species") or plan["species"]
    if plan["kind"] == "sheet":
        return "plywood"
    return "" if said.startswith("unstated") else said


def stock_of(plan: Published) -> list[Published]:
    """The sheets and boards it states by size; a total in board feet is not one."""
    return [stock for stock in plan["stated_stock"] if "length" in stock]


# ---- as a maker's own file -----------------------------------------------------------------------------


def file_of(plan: Published) -> tuple[str, bytes]:
    """A file name and what is in it. The ways to write it take turns from plan to plan."""
    how = HOW_WRITTEN[PLANS.index(plan) % len(HOW_WRITTEN)]
    rows = [list(row) for row in WRITERS[how](plan)]
    if how == "xlsx":
        return "parts.xlsx", xlsx_file(Parts=rows)
    separator = {"commas": ",", "semicolons": ";", "tabs": "\t"}[how]
    return "parts.csv", csv_file([list(map(_quoted, row)) for row in rows], separator=separator)


def _quoted(cell: Any) -> str:
    text = str(cell)
    return '"' + text.replace('"', '""') + '"' if set(text) & set(',;"\t') else text


def _as_printed(plan: Published) -> Iterator[Sequence[Any]]:
    yield "Qty", "Part", "Length", "Width", "Thickness", "Material", "Grain"
    for part in plan["parts"]:
        yield part["quantity"], part["id"], *_sizes(part, str), wood(plan, part), part["grain"]


def _in_decimals(plan: Published) -> Iterator[Sequence[Any]]:
    yield "Description", "Pcs", f"L ({plan['unit']})", "W", "T", "Species", "Grain direction"
    for part in plan["parts"]:
        yield part["id"], part["quantity"], *_sizes(part, _decimal), wood(plan, part), part["grain"]


def _with_marks(plan: Published) -> Iterator[Sequence[Any]]:
    mark = {"in": '"', "mm": " mm"}[plan["unit"]]
    yield (f"List for {plan['name']}",)
    yield ()
    yield "Component", "Finished length", "Finished width", "Thick", "Quantity", "Stock", "Grain"
    for part in plan["parts"]:
        sizes = _sizes(part, lambda text: text.replace(" ", "-") + mark)
        yield part["id"], *sizes, f"x{part['quantity']}", wood(plan, part), part["grain"]


def _in_number_cells(plan: Published) -> Iterator[Sequence[Any]]:
    yield "Thickness", "Width", "Length", "Part", "Qty", "Material", "Grain"
    for part in plan["parts"]:
        sizes = _sizes(part, lambda text: float(stated(text)))
        yield *reversed(sizes), part["id"], part["quantity"], wood(plan, part), part["grain"]


def _sizes(part: Published, write: Callable[[str], Any]) -> list[Any]:
    return [write(part[name]) for name in ("length", "width", "thickness")]


def _decimal(text: str) -> str:
    """3/4 as 0.75: every printed size is in sixteenths at most, so that no digit is lost."""
    return f"{float(stated(text)):.10g}"


WRITERS: Mapping[str, Callable[[Published], Iterator[Sequence[Any]]]] = {
    "commas": _as_printed,
    "semicolons": _in_decimals,
    "tabs": _with_marks,
    "xlsx": _in_number_cells,
}
