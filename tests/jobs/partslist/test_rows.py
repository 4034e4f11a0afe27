"""Rows are understood, or say what is wrong where."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.models import MaterialName
from jobs.models import Part
from jobs.partslist.cells import NotUnderstood, alternatives, alternatives_text, parse_grain, parse_quantity
from jobs.partslist.columns import Columns, find_columns
from jobs.partslist.grid import NotAPartsList
from jobs.partslist.matching import remembered_as
from jobs.partslist.reading import read_file, read_paste
from jobs.partslist.rows import MOST_CHARACTERS, ReadList, ReadRow, understand
from shared.measure import LONGEST, Unit, inches, mm
from tests.jobs.partslist.books import dated_xlsx_file, xlsx_file

HEADER = "Qty\tPart\tLength\tWidth\tThickness\tMaterial\tAlso\tGrain\tEdging\tMatch set\tNote\n"


def read(text: str, unit: Unit = "in") -> ReadList:
    grid = read_paste(text)
    return understand(grid, find_columns(grid, unit), unit)


def sentence(cell: str, header: str) -> str:
    """What is said of one cell under a header, in row 2 of a list that is fine otherwise."""
    cells = {"Qty": "2", "Length": "34 1/2", "Width": "23 1/4", header: cell}
    found = read("\t".join(cells) + "\n" + "\t".join(cells.values()))
    return " ".join(error.sentence for error in found.errors)


def test_every_cell_of_a_row_is_understood():
    found = read(
        HEADER
        + "2 pcs\tSide, left\t34 1/2\t590 mm\t3/4\tWhite oak ply\tash ply; poplar\talong\t1 long\tA\tcheck"
    )
    assert found == ReadList(
        rows=(
            ReadRow(
                number=2,
                quantity=2,
                name="Side, left",
                length=inches("34 1/2"),
                width=mm(590),
                thickness=inches("3/4"),
                material_text="White oak ply",
                also_texts=("ash ply", "poplar"),
                grain="length",
                edging="1 long",
                match_set="A",
                note="check",
            ),
        ),
        left_out=(),
    )


def test_length_and_width_are_never_swapped():
    (row,) = read("Length\tWidth\n7\t18").rows
    assert (row.length, row.width) == (inches(7), inches(18))


def test_bare_numbers_are_in_the_shop_s_unit_or_the_column_s_own():
    (row,) = read("Length (mm)\tWidth\n597\t23", "in").rows
    assert (row.length, row.width) == (mm(597), inches(23))


def test_a_list_without_quantities_asks_for_one_of_each():
    assert [row.quantity for row in read("Length\tWidth\n3\t4").rows] == [1]


def test_parts_without_a_name_are_numbered():
    found = read("Part\tLength\tWidth\nSide\t3\t4\n\n\t5\t6\n")
    assert [row.name for row in found.rows] == ["Side", "Part 2"]


def test_a_list_without_a_header_is_understood_from_its_first_row():
    assert [row.number for row in read("2\tSide\t34.5\t23\n4\tShelf\t30\t11").rows] == [1, 2]


# ---- which rows are parts ---------------------------------------------------------------------------------


def test_rows_are_numbered_as_a_person_sees_them():
    found = read("Bench\n\nQty\tLength\tWidth\n1\t3\t4\n\n2\t5\t6")
    assert [row.number for row in found.rows] == [4, 6]


def test_a_row_with_neither_length_nor_width_is_left_out_and_named():
    found = read("Qty\tPart\tLength\tWidth\n\tCarcass\t\t\n2\tSide\t3\t4\n2\t\t\t\n")
    assert [row.name for row in found.rows] == ["Side"]
    assert [left_out.sentence for left_out in found.left_out] == [
        'Row 2 ("Carcass") has neither length nor width: left out.',
        'Row 4 ("2") has neither length nor width: left out.',
    ]


def test_a_row_that_says_something_only_where_nobody_reads_is_left_out_and_named():
    found = read("Length\tWidth\tColour\n3\t4\tred\n\t\tblue")
    assert [left_out.sentence for left_out in found.left_out] == [
        "Row 3 has neither length nor width: left out."
    ]


def test_a_header_that_is_repeated_is_skipped():
    found = read("Qty\tLength\tWidth\n1\t3\t4\nQTY\tlength\tWidth\n2\t5\t6")
    assert [row.number for row in found.rows] == [2, 4]
    assert found.left_out == ()


def test_a_row_with_only_one_of_the_two_is_a_part_with_something_missing():
    found = read("Length\tWidth\n3\t")
    assert [error.sentence for error in found.errors] == [
        "Row 2, width: A length is missing. Write 23 1/2, 23.5 or 597 mm."
    ]


@pytest.mark.parametrize("text", ["Qty\tPart\n2\tSide", "Length\tPart\n2\tSide", "Qty\tLength\tWidth\n2\t\t"])
def test_a_list_without_a_part_is_refused(text):
    with pytest.raises(NotAPartsList):
        read(text)


# ---- what is wrong, and where -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "cell", "expected"),
    [
        ("Width", "23 1/2 x", 'Row 2, width: "23 1/2 x" is not a length. Write 23 1/2, 23.5 or 597 mm.'),
        ("Width", "-3", 'Row 2, width: "-3" is below zero. Write 23 1/2, 23.5 or 597 mm.'),
        ("Thickness", "thin", 'Row 2, thickness: "thin" is not a length. Write 23 1/2, 23.5 or 597 mm.'),
        ("Qty", "", "Row 2, qty: it does not say how many. Write a whole number from 1 to 9999, such as 2."),
        ("Qty", "two", 'Row 2, qty: "two" is not how many. Write a whole number from 1 to 9999, such as 2.'),
        ("Grain", "up", 'Row 2, grain: "up" is no way for the grain to run. Write length, width or any.'),
        ("Length", "=B9*2", 'Row 2, length: "=B9*2" is a formula, not a value. Write the value itself.'),
        ("Note", "=B9", 'Row 2, note: "=B9" is a formula, not a value. Write the value itself.'),
        (
            "Material",
            "#REF!",
            "Row 2, material: the formula gives #REF!, not a value. Write the value itself.",
        ),
        ("Part", "x" * 81, f'Row 2, part: "{"x" * 24}…" is too long. Write at most 80 characters.'),
    ],
)
def test_a_wrong_cell_is_named_with_what_would_do(header, cell, expected):
    assert sentence(cell, header) == expected


def test_a_column_is_called_what_its_header_calls_it():
    errors = read("L\tWidth (mm)\n2 x\t3 x").errors
    assert [error.sentence for error in errors] == [
        'Row 2, L: "2 x" is not a length. Write 23 1/2, 23.5 or 597 mm.',
        'Row 2, width (mm): "3 x" is not a length. Write 597, 596.9 or 23 1/2 in.',
    ]


def test_all_that_is_wrong_in_a_row_is_said_and_the_rest_is_understood():
    found = read("Qty\tPart\tLength\tWidth\n0\tSide\tlong\t23\n1\tTop\t30\t20")
    assert [(error.row, error.column_name, error.text) for error in found.errors] == [
        (2, "Qty", "0"),
        (2, "Length", "long"),
    ]
    assert (found.rows[0].name, found.rows[0].width, found.rows[0].length) == ("Side", inches(23), None)
    assert found.rows[1].errors == ()


def test_what_was_typed_is_kept_to_be_shown_again():
    (row,) = read("Qty\tLength\tWidth\n0\t34 1/2 x\t23").rows
    assert row.typed == {"quantity": "0", "length": "34 1/2 x", "width": "23"}


def test_a_formula_in_a_column_nobody_reads_harms_nobody():
    assert read("Length\tWidth\tWeight\n3\t4\t=A2*B2").errors == ()


@pytest.mark.parametrize(
    "typed",
    [
        "2026-03-04",
        "3/4/2026",
        "4.3.2026",
        "4-Mar",
        "04. Mrz",
        "4-Mar-26",
        "Mar-04",
        "4. März 2026",
        "15-janv.",
    ],
)
def test_a_size_that_a_spreadsheet_made_a_date_says_so(typed):
    said = sentence(typed, "Length")
    assert said == (
        f'Row 2, length: the spreadsheet has turned what was typed into a date ("{typed}"). '
        "Format the column as text and type the size again, such as 3/4."
    )


def test_a_date_cell_in_a_length_column_says_so():
    grid = read_file("list.xlsx", dated_xlsx_file())
    (error,) = understand(grid, find_columns(grid, "in"), "in").errors
    assert error.sentence.startswith("Row 2, length: the spreadsheet has turned what was typed into a date")


def test_a_formula_without_a_value_is_not_taken_for_an_empty_cell():
    grid = read_file(
        "list.xlsx",
        xlsx_file(Parts=[["Length", "Width", "Thickness", "Grain"], [3, 4, "=C9", "=D9 -> #N/A"]]),
    )
    found = understand(grid, find_columns(grid, "in"), "in")
    assert [(error.column_name, error.text) for error in found.errors] == [
        ("Thickness", "=C9"),
        ("Grain", "#N/A"),
    ]


# ---- cells ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    ["12", "12 pcs", "12pcs.", "x12", "X 12", "12x", "12 ×", "12 off", "12.0", "012", "12 Stück"],
)
def test_how_many_as_people_write_it(text):
    assert parse_quantity(text) == 12


@pytest.mark.parametrize(
    "text",
    [
        "0",
        "-1",
        "1.5",
        "1,000,000",
        "1,000",
        "10000",
        "two",
        "2 m",
        "1/2",
        "½",
        "2²",
        "1e3",
        "9" * 5000,
        "2 3",
        "٢",
    ],
)
def test_what_is_not_how_many_is_refused(text):
    with pytest.raises(NotUnderstood, match="Write a whole number from 1 to 9999, such as 2"):
        parse_quantity(text)


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ("length", ["length", "With", "L", "ALONG", "long", "yes", "x", "with length"]),
        ("width", ["width", "across", "cross", "W"]),
        ("any", ["any", "none", "no", "either"]),
        ("default", [""]),
    ],
)
def test_ways_of_the_grain(way, words):
    assert {parse_grain(word) for word in words} == {way}


@pytest.mark.parametrize("text", ["vertical", "horizontal", "up", "1", "→", "L/W"])
def test_a_way_that_depends_on_the_drawing_is_refused(text):
    with pytest.raises(NotUnderstood, match="Write length, width or any"):
        parse_grain(text)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("", ()),
        ("ash", ("ash",)),
        ("ash; hard maple ;", ("ash", "hard maple")),
        ("ash or maple | elm\nfir", ("ash", "maple", "elm", "fir")),
        ("plywood, white oak", ("plywood, white oak",)),
        ("Oregon pine", ("Oregon pine",)),
        ("oak or elm;", ("oak or elm",)),
    ],
)
def test_alternatives_as_people_write_them(text, names):
    assert alternatives(text) == names


one_liners = st.text(st.characters(exclude_characters=";", exclude_categories=["C", "Z"]), min_size=1)


@given(names=st.lists(one_liners | st.sampled_from(["oak or elm", "a | b", "or"])).map(tuple))
def test_alternatives_are_written_as_they_are_read(names):
    assert alternatives(alternatives_text(names)) == names


def test_what_is_understood_fits_the_tables():
    """A row without errors must not be refused when it is saved."""
    fields = {name: Part._meta.get_field(name).max_length for name in ("name", "edging", "match_set", "note")}
    assert {name: MOST_CHARACTERS[name] for name in fields} == fields
    longest = remembered_as("x" * MOST_CHARACTERS["material"], LONGEST - 1, "in")
    assert len(longest) <= MaterialName._meta.get_field("name").max_length


def test_columns_set_by_hand_are_read_by():
    grid = read_paste("34\tSide\t23\n30\tTop\t11")
    found = understand(grid, Columns(at={"length": 2, "width": 0}), "in")
    assert (found.rows[0].length, found.rows[0].width) == (inches(23), inches(34))
