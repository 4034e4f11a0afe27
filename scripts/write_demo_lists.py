"""Writes the demo's parts lists that are made, not typed: a workbook as a spreadsheet saves it, and the six
bays of the library as a drawing program exports them. `python scripts/write_demo_lists.py`"""

import csv
from datetime import datetime
from pathlib import Path

import xlsxwriter

PARTS = Path(__file__).resolve().parent.parent / "fixtures" / "demo" / "parts"

CHEST = [
    ("Front", 1, "38 1/2", 18, "Cherry plywood 3/4", "length", "top"),
    ("Back", 1, "38 1/2", 18, "Cherry plywood 3/4", "length", "top"),
    ("End", 2, 17, 18, "Cherry plywood 3/4", "length", "top"),
    ("Lid panel", 1, 37, "16 1/2", "Cherry plywood 3/4", "length", ""),
    ("Bottom", 1, "37 1/4", "17 1/4", "Birch plywood 1/2", "any", ""),
    ("Tray bottom", 1, 36, 8, "Birch plywood 1/4", "any", ""),
    ("Corner post", 4, 20, 2, "Cherry 4/4", "length", ""),
    ("Lid frame long", 2, 40, "2 1/4", "Cherry 4/4", "length", ""),
    ("Lid frame short", 2, "18 1/2", "2 1/4", "Cherry 4/4", "length", ""),
    ("Plinth long", 2, 40, 3, "Cherry 4/4", "length", ""),
    ("Plinth short", 2, 19, 3, "Cherry 4/4", "length", ""),
    ("Tray side", 2, 36, 3, "Cherry 4/4", "length", ""),
    ("Tray end", 2, 8, 3, "Cherry 4/4", "length", ""),
]

# Each bay of the library: how wide it is outside, and how many loose shelves it gets.
BAYS = {
    "A": ("30", 4),
    "B": ("30", 4),
    "C": ("33 1/2", 5),
    "D": ("36", 3),
    "E": ("33 1/2", 5),
    "F": ("24", 4),
}
PLYWOOD, BACK = "Red oak plywood 3/4", "Red oak plywood 1/4"


def inside(width: str, less: int = 0) -> str:
    """A width less two sides of 3/4, and `less` sixteenths more, as a drawing program writes it."""
    whole, _, half = width.partition(" ")
    sixteenths = 16 * int(whole) + (8 if half else 0) - 24 - less
    return f"{sixteenths / 16:g}"


def bay(name: str, width: str, shelves: int) -> list[tuple[str, int, str, str, str, str, str]]:
    """The eleven rows of one bay, 84 in high and 11 1/2 in deep."""
    return [
        (f"{name} side left", 1, "84", "11.5", PLYWOOD, "length", "front"),
        (f"{name} side right", 1, "84", "11.5", PLYWOOD, "length", "front"),
        (f"{name} top", 1, inside(width), "11.25", PLYWOOD, "length", "front"),
        (f"{name} bottom", 1, inside(width), "11.25", PLYWOOD, "length", "front"),
        (f"{name} fixed shelf", 1, inside(width), "11.25", PLYWOOD, "length", "front"),
        (f"{name} loose shelf", shelves, inside(width, 2), "11", PLYWOOD, "length", "front"),
        (f"{name} kick", 1, inside(width), "3.5", PLYWOOD, "length", ""),
        (f"{name} hanging rail", 1, inside(width), "3", PLYWOOD, "length", ""),
        (f"{name} crown", 1, width, "4.25", PLYWOOD, "length", "all"),
        (f"{name} back upper", 1, "48", inside(width), BACK, "length", ""),
        (f"{name} back lower", 1, "34", inside(width), BACK, "length", ""),
    ]


def write_chest() -> None:
    book = xlsxwriter.Workbook(PARTS / "toy-chest.xlsx")
    # The same file each time, whenever it is written.
    book.set_properties({"title": "Toy chest", "created": datetime(2026, 1, 5)})
    sheet = book.add_worksheet("Parts")
    sheet.write_row(0, 0, ["Toy chest in cherry, parts to cut"], book.add_format({"bold": True}))
    sheet.write_row(2, 0, ["Part", "Quantity", "Length", "Width", "Material", "Grain", "Edging"])
    for number, row in enumerate(CHEST, 3):
        sheet.write_row(number, 0, row)
    sheet.set_column(0, 6, 18)
    book.close()


def write_library() -> None:
    with (PARTS / "library-shelves.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["Part", "Qty", "Length", "Width", "Material", "Grain", "Edging"])
        for name, (width, shelves) in BAYS.items():
            writer.writerows(bay(name, width, shelves))


if __name__ == "__main__":
    write_chest()
    write_library()
