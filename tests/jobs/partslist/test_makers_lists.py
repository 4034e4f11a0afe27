"""Lists as makers send them, all the way from the file to the materials of the shop."""

from jobs.partslist.columns import find_columns
from jobs.partslist.grid import Grid
from jobs.partslist.matching import Candidate, match
from jobs.partslist.reading import read_file, read_paste
from jobs.partslist.rows import ReadList, understand
from shared.measure import Unit, format_length_with_unit, inches, mm
from tests.jobs.partslist.books import csv_file, ods_file, xlsx_file

SHOP = [
    Candidate(1, "White oak plywood 3/4", "sheet", "White oak", "veneer core", "3/4"),
    Candidate(2, "Birch plywood 1/2", "sheet", "Birch", "veneer core", "1/2"),
    Candidate(3, "Ash 5/4", "lumber", "White ash", "", "5/4"),
    Candidate(4, "Birkensperrholz 18 mm", "sheet", "Birke", "", "18 mm"),
]


def understood(grid: Grid, unit: Unit) -> ReadList:
    return understand(grid, find_columns(grid, unit), unit)


def sizes(found: ReadList, unit: Unit) -> list[tuple[int | None, str, str, str]]:
    return [
        (
            row.quantity,
            row.name,
            format_length_with_unit(row.length or 0, unit),
            format_length_with_unit(row.width or 0, unit),
        )
        for row in found.rows
    ]


def test_a_workbook_with_a_title_groups_and_totals():
    rows = [
        ["Hall bench with two drawers", None, None, None, None, None, None],
        ["Drawn by the maker", None, "Rev. C"],
        [],
        ["Qty", "Component", "L (in)", "W (in)", "Thk", "Material", "Grain", "Area"],
        [None, "Carcass"],
        [2, "End panel", 17.25, "15 1/2", "3/4", "White oak ply", "L", "=C6*D6*A6 -> 534.75"],
        [1, "Top", "=2*24 -> 48", "15 1/2", 0.75, "White oak ply", "L", "=C7*D7 -> 744"],
        ["Qty", "Component", "L (in)", "W (in)", "Thk", "Material", "Grain", "Area"],
        [None, "Drawers"],
        [4, "Drawer side", 14, "4 1/2", "1/2", "Birch ply", "any", "=C10*D10 -> 63"],
        [7, None, None, None, None, None, None, "=SUM(H6:H10) -> 1341.75"],
    ]
    found = understood(read_file("bench.xlsx", xlsx_file(Notes=[["Call the client"]], Parts=rows)), "in")
    assert sizes(found, "in") == [
        (2, "End panel", "17 1/4 in", "15 1/2 in"),
        (1, "Top", "48 in", "15 1/2 in"),
        (4, "Drawer side", "14 in", "4 1/2 in"),
    ]
    assert [left_out.row for left_out in found.left_out] == [5, 9, 11]
    assert found.errors == ()
    assert [match(row.material_text, row.thickness, SHOP).taken for row in found.rows] == [1, 1, 2]


def test_a_german_drawing_program_s_export():
    rows = [
        ["Pos.", "Anzahl", "Bezeichnung", "Länge [mm]", "Breite [mm]", "Dicke [mm]", "Werkstoff", "Maserung"],
        [1, 2, "Seite", "720,5", "560", "18", "Birkensperrholz", "längs"],
        [2, 1, "Boden", "764", "540", "18", "Birkensperrholz", "quer"],
    ]
    data = csv_file(rows, separator=";", encoding="cp1252")
    found = understood(read_file("Stückliste.csv", data), "in")
    assert sizes(found, "mm") == [(2, "Seite", "720.5 mm", "560 mm"), (1, "Boden", "764 mm", "540 mm")]
    assert [row.grain for row in found.rows] == ["length", "width"]
    assert {match(row.material_text, row.thickness, SHOP).taken for row in found.rows} == {4}


def test_a_spreadsheet_in_which_sizes_became_dates_and_formulas_broke():
    rows = [
        ["Part", "Length", "Width", "Edging"],
        ["Door", "2026-03-04", 20, "all round"],
        ["Rail", "#REF!", 3, None],
        ["Stile", "=C4*2", 3, None],
        ["Panel", 17, 12, None],
    ]
    found = understood(read_file("doors.ods", ods_file(Cut=rows)), "in")
    assert [(error.row, error.column_name) for error in found.errors] == [
        (2, "Length"),
        (3, "Length"),
        (4, "Length"),
    ]
    assert [row.length for row in found.rows] == [None, None, None, inches(17)]


def test_a_message_with_cells_in_columns():
    text = """
        2   Side board      34 1/2   23 1/4   ash 5/4
        1   Stretcher       30       3 1/2    ash 5/4
        4   Leg             17.5     2 x      ash 5/4
    """
    found = understood(read_paste(text), "in")
    assert sizes(found, "in")[:2] == [
        (2, "Side board", "34 1/2 in", "23 1/4 in"),
        (1, "Stretcher", "30 in", "3 1/2 in"),
    ]
    assert [error.sentence for error in found.errors] == [
        'Row 4, width: "2 x" is not a length. Write 23 1/2, 23.5 or 597 mm.'
    ]
    assert {match(row.material_text, row.thickness, SHOP).taken for row in found.rows} == {3}


def test_cells_copied_from_a_metric_shop_into_an_inch_shop():
    found = understood(read_paste("Part\tLength (mm)\tWidth (mm)\nShelf\t762\t298,5"), "in")
    assert (found.rows[0].length, found.rows[0].width) == (mm(762), mm("298.5"))
