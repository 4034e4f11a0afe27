"""An exported list reads back to the same rows."""

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from jobs.partslist.columns import find_columns
from jobs.partslist.reading import read_file, read_paste
from jobs.partslist.rows import ReadRow, understand
from jobs.partslist.workbook_process import read as read_in_this_process
from jobs.partslist.writing import to_csv, to_xlsx
from shared.measure import LONGEST, Unit, inches, mm

UNITS: tuple[Unit, ...] = ("in", "mm")

FORMULA_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "\t", "\r")
# What a spreadsheet or a CSV reader might make something else of.
FEARED = [
    *FORMULA_STARTS,
    *[
        "'",
        "''",
        "=1+1",
        "'=",
        "'#REF!",
        "#REF!",
        '"',
        ",",
        ";",
        "|",
        "3/4",
        "1-2",
        "007",
        "1e5",
        "TRUE",
        "Qty",
        "_x0041_",
        "<b>",
        "&amp;",
    ],
]


def rows_in(data: bytes, unit: Unit) -> list[ReadRow]:
    grid = read_in_this_process(data, "") if data.startswith(b"PK") else read_file("list", data)
    return list(understand(grid, find_columns(grid, unit), unit).rows)


def make_row(**others) -> ReadRow:
    row = ReadRow(number=2, quantity=2, name="Side", length=inches("34 1/2"), width=inches("23 1/4"))
    return replace(row, **others)


def words(most: int, least: int = 0, never: str = "") -> st.SearchStrategy[str]:
    """Texts as a cell gives them: a line without blanks around, in any script, and what spreadsheets fear."""
    letters = st.text(st.characters(exclude_characters=never, exclude_categories=["C"]), max_size=most)
    both = st.tuples(st.sampled_from(FEARED) | letters, letters)
    plain = both.map(lambda pair: " ".join("".join(pair).split())[:most].strip())
    return plain.filter(lambda text: len(text) >= least and not set(never) & set(text))


lengths = st.integers(1, LONGEST) | st.integers(1, 6_000).map(lambda sixteenths: sixteenths * inches("1/16"))
rows = st.builds(
    ReadRow,
    number=st.just(0),
    quantity=st.integers(1, 9_999),
    name=words(80, least=1),
    length=lengths,
    width=lengths,
    thickness=st.none() | lengths,
    material_text=words(80),
    also_texts=st.lists(words(30, least=1, never=";"), max_size=3).map(tuple),
    grain=st.sampled_from(["length", "width", "any", "default"]),
    edging=words(60),
    match_set=words(40),
    may_be_glued=st.booleans(),
    note=st.lists(words(60, least=1), max_size=3).map("\n".join),
)
lists = st.lists(rows, min_size=1, max_size=6).map(
    lambda made: [replace(row, number=number) for number, row in enumerate(made, start=2)]
)


@given(wanted=lists, unit=st.sampled_from(UNITS))
@settings(max_examples=80, deadline=None)
@example(wanted=[make_row(name="=HYPERLINK(A1)", note="two\nlines")], unit="in")
@example(wanted=[make_row(name="'80s", also_texts=("oak or elm",), thickness=mm(18))], unit="in")
@example(wanted=[make_row(name="#REF!", note="Err:502")], unit="mm")
def test_csv_reads_back_to_the_same_rows(wanted, unit):
    assert rows_in(to_csv(wanted, unit), unit) == wanted


@given(wanted=lists, unit=st.sampled_from(UNITS))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@example(wanted=[make_row(name="=HYPERLINK(A1)", note="two\nlines")], unit="in")
def test_a_spreadsheet_reads_back_to_the_same_rows(wanted, unit):
    assert rows_in(to_xlsx(wanted, unit), unit) == wanted


@given(wanted=lists, unit=st.sampled_from(UNITS))
@settings(max_examples=40, deadline=None)
def test_no_cell_of_a_csv_is_a_formula(wanted, unit):
    text = to_csv(wanted, unit).decode("utf-8-sig")
    cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
    assert [cell for cell in cells if cell.startswith(FORMULA_STARTS)] == []


def test_a_list_reads_back_the_same_in_a_shop_of_the_other_unit():
    wanted = [make_row(thickness=mm(18))]
    assert rows_in(to_csv(wanted, "in"), "mm") == rows_in(to_csv(wanted, "mm"), "in") == wanted


def test_only_columns_that_are_used_are_written():
    text = to_csv([make_row(material_text="Ash 5/4", grain="width")], "in").decode("utf-8-sig")
    assert text == (
        "Qty,Part,Length (in),Width (in),Material,Grain\r\n2,Side,34 1/2,23 1/4,Ash 5/4,width\r\n"
    )


@pytest.mark.parametrize("write", [to_csv, to_xlsx])
def test_what_was_not_understood_is_written_as_it_was_typed(write):
    grid = read_paste("Qty\tPart\tLength\tWidth\tGrain\ntwo\tSide\t34 x\t23\tup")
    found = understand(grid, find_columns(grid, "in"), "in")
    again = rows_in(write(found.rows, "in"), "in")
    assert [error.sentence.partition(": ")[2] for error in again[0].errors] == [
        error.sentence.partition(": ")[2] for error in found.errors
    ]


def test_an_empty_list_is_a_header():
    assert to_csv([], "mm").decode("utf-8-sig") == "Qty,Part,Length (mm),Width (mm),Material\r\n"
