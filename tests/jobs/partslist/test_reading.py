"""Files and pastes become grids of text cells."""

import datetime

import pytest

from jobs.partslist.grid import Grid, NotAPartsList, OddCell
from jobs.partslist.reading import read_file, read_paste
from jobs.partslist.workbook_process import text_of
from tests.jobs.partslist.books import (
    PARTS,
    changed_member,
    csv_file,
    dated_xlsx_file,
    ods_file,
    xls_file,
    xlsx_file,
)

AS_TEXT = (
    ("Qty", "Part", "Length", "Width", "Material", "Grain"),
    ("2", "Side", "34 1/2", "23.25", "White oak ply 3/4", "length"),
    ("4", "Shelf", "30", "11.5", "White oak ply 3/4", "length"),
)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_csv_is_read_in_every_dialect(separator, encoding):
    assert read_file("list.csv", csv_file(separator=separator, encoding=encoding)).rows == AS_TEXT


@pytest.mark.parametrize("book", [xlsx_file(), ods_file(), xls_file()], ids=["xlsx", "ods", "xls"])
def test_a_spreadsheet_reads_as_its_csv_does(book):
    assert read_file("list", book).rows == AS_TEXT


def test_accents_survive_the_old_windows_encoding():
    assert read_file("list.csv", "Länge,Breite\n½,3".encode("cp1252")).rows == (
        ("Länge", "Breite"),
        ("½", "3"),
    )


def test_what_a_file_is_its_bytes_say_and_not_its_name():
    assert read_file("list.csv", xlsx_file()).rows == AS_TEXT
    assert read_file("list.xls", csv_file()).rows == AS_TEXT


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ('a,"Side, left",3\nb,Top,4\n', ("a", "Side, left", "3")),
        ('a,"the ""good"" side",3\nb,Top,4\n', ("a", 'the "good" side', "3")),
        ('a,"two\r\nlines",3\r\nb,Top,4\r\n', ("a", "two\nlines", "3")),
        ('a,Side,23 1/2"\nb,Top,4"\n', ("a", "Side", '23 1/2"')),
        ('"A" side,30,4\n"B" side,20,4\nDoors\n', ('"A" side', "30", "4")),
        ("sep=;\na;Side, left;3\nb;Top;4\n", ()),
        ("a\tSide; left\t3\nb\tTop\t4\n", ("a", "Side; left", "3")),
        ("a   Side board  34 1/2   23\nb   Top  3  4\n", ("a", "Side board", "34 1/2", "23")),
        ("2   Side, left   34 1/2   23\n1   Top, oiled   30   11\n", ("2", "Side, left", "34 1/2", "23")),
        ("Side  board,30,4\nEnd  panel,20,4\n", ("Side  board", "30", "4")),
        ("a,Side\u00a0 , 3 \nb,Top,4\n", ("a", "Side", "3")),
        ("a,Side,3\rb,Top,4\r", ("a", "Side", "3")),
    ],
)
def test_the_first_row_of_a_paste_is(text, row):
    assert read_paste(text).rows[0] == row


def test_a_list_with_commas_in_its_names_is_still_parted_by_semicolons():
    text = "Part, left or right;Length;Width\nSide, left;34,5;23,25\nSide, right;34,5;23,25\nTop;30;20\n"
    assert read_paste(text).rows[1] == ("Side, left", "34,5", "23,25")


def test_a_separator_line_tells_how_the_rest_is_parted_and_keeps_its_row():
    grid = read_paste("sep=;\nQty;Length;Width\n1;2;3")
    assert grid.rows == ((), ("Qty", "Length", "Width"), ("1", "2", "3"))


def test_blank_rows_keep_their_place_and_those_at_the_end_go():
    assert read_paste("a,b\n\n1,2\n,,\n\n").rows == (("a", "b"), (), ("1", "2"))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (23.5, "23.5"),
        (4.0, "4"),
        (0.1 + 0.2, "0.3"),
        (1e15, "1000000000000000"),
        (0.0001, "0.0001"),
        (-2.0, "-2"),
        (0.0, "0"),
        (100.0, "100"),
        (True, "TRUE"),
        (" Side\r\nleft ", "Side\nleft"),
        (datetime.date(2026, 3, 4), "2026-03-04"),
        (datetime.datetime(2026, 3, 4, 6, 30), "2026-03-04 06:30:00"),
        (datetime.time(6, 30), "06:30:00"),
    ],
)
def test_a_spreadsheet_s_value_is_written_as_a_person_would_type_it(value, text):
    assert text_of(value) == text


def test_rows_and_columns_left_blank_above_and_before_a_table_are_counted():
    grid = read_file("list.xlsx", xlsx_file(Parts=[[], [None, None, "Length"], [None, None, 5]]))
    assert grid.rows == ((), ("", "", "Length"), ("", "", "5"))


# ---- sheets -----------------------------------------------------------------------------------------------


def test_the_first_sheet_with_a_header_we_know_is_read():
    grid = read_file("list.xlsx", xlsx_file(Client=[["Name", "Street"]], Cuts=PARTS, Old=PARTS))
    assert (grid.sheet, grid.sheets) == ("Cuts", ("Client", "Cuts", "Old"))
    assert grid.rows == AS_TEXT


def test_another_sheet_can_be_chosen():
    book = ods_file(**{"Parts": PARTS, "Türen 2": [["Length", "Width"], [1, 2]]})
    assert read_file("list.ods", book, sheet="Türen 2").rows == (("Length", "Width"), ("1", "2"))


def test_without_a_known_header_the_first_sheet_with_rows_is_read():
    grid = read_file("list.ods", ods_file(Empty=[], Sizes=[[2, 30, 11]]))
    assert (grid.sheet, grid.rows) == ("Sizes", (("2", "30", "11"),))


@pytest.mark.parametrize("sheet", ["Pats", "\0", "\ud800", "x\ny" * 100_000])
def test_a_sheet_that_is_not_there_is_refused(sheet):
    with pytest.raises(NotAPartsList, match="It has no sheet called"):
        read_file("list.xlsx", xlsx_file(), sheet=sheet)


# ---- cells that hold no plain value -----------------------------------------------------------------------


def test_a_formula_counts_by_the_value_it_had_when_the_file_was_saved():
    grid = read_file("list.xlsx", xlsx_file(Parts=[["Length", "Width"], ["=B2*2 -> 34.5", 17.25]]))
    assert (grid.rows[1], grid.odd) == (("34.5", "17.25"), {})


@pytest.mark.parametrize("book", [xlsx_file, ods_file], ids=["xlsx", "ods"])
def test_a_formula_without_a_value_is_kept_as_one(book):
    grid = read_file("list", book(Parts=[["Length", "Width"], [3, "=A2*2"]]))
    assert grid.odd == {(1, 1): OddCell("formula", "=A2*2")}


@pytest.mark.parametrize(
    "book",
    [
        xlsx_file(Parts=[["Length", "Width"], [3, "=A9 -> #REF!"]]),
        ods_file(Parts=[["Length", "Width"], [3, "#REF!"]]),
        xls_file([["Length", "Width"], [3, "#REF!"]]),
        xls_file([["Length", "Width"], [3, "=#REF!"]]),
        csv_file([["Length", "Width"], [3, "#REF!"]]),
    ],
    ids=["xlsx", "ods", "xls", "xls formula", "csv"],
)
def test_an_error_value_is_kept_as_one(book):
    assert read_file("list", book).odd == {(1, 1): OddCell("error", "#REF!")}


def test_a_row_of_nothing_but_errors_is_not_lost():
    grid = read_file("list.xlsx", xlsx_file(Parts=[["Length", "Width"], [], ["=A9 -> #REF!", "=B9 -> #N/A"]]))
    assert grid.rows[2] == ("#REF!", "#N/A")


def test_a_formula_whose_value_is_the_empty_text_is_an_empty_cell():
    book = xlsx_file(Parts=[["Length", "Width", "Note"], [3, 4, '=IF(A2>9,"long","") -> keep']])
    emptied = changed_member(book, "xl/worksheets/sheet1.xml", b"<v>keep</v>", b"<v></v>")
    assert read_file("list.xlsx", emptied).odd == {}


@pytest.mark.parametrize(
    "book", [dated_xlsx_file(), ods_file(Parts=[["Length", "Width"], ["2026-03-04", 5]])], ids=["xlsx", "ods"]
)
def test_a_date_is_kept_as_one(book):
    assert read_file("list", book).odd == {(1, 0): OddCell("date", "2026-03-04")}


def test_a_text_in_csv_that_begins_with_an_equals_sign_is_a_formula():
    assert read_paste("Length,Width\n=A3*2,4").odd == {(1, 0): OddCell("formula", "=A3*2")}


def test_a_text_in_csv_marked_as_text_is_none():
    grid = read_paste("Part,Length,Width\n'=side,3,4\n'+plus,3,4\n''80s,3,4\n'80s,3,4")
    assert [cells[0] for cells in grid.rows[1:]] == ["=side", "+plus", "'80s", "'80s"]
    assert grid.odd == {}


def test_a_grid_can_be_kept_as_json():
    grid = read_file("list.xlsx", xlsx_file(Client=[["Name"]], Cuts=[*PARTS, ["=B2", None, "=A9 -> #REF!"]]))
    assert Grid.from_json(grid.as_json()) == grid
