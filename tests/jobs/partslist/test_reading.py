"""Files and pastes become grids of text, or are refused with one sentence."""

import pytest

from jobs.partslist.reading import read_file
from tests.jobs.partslist.books import (
    csv_file,
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


@pytest.mark.parametrize(
    ("name", "data"), [("list.xlsx", xlsx_file()), ("list.ods", ods_file()), ("list.xls", xls_file())]
)
def test_a_spreadsheet_reads_as_its_csv_does(name, data):
    assert read_file(name, data).rows == AS_TEXT


def test_accents_survive_the_old_windows_encoding():
    assert read_file("list.csv", "Länge,Breite\n½,3".encode("cp1252")).rows[0] == ("Länge", "Breite")


def test_what_a_file_is_its_bytes_say_and_not_its_name():
    assert read_file("list.csv", xlsx_file()).rows == read_file("list.xls", csv_file()).rows == AS_TEXT
