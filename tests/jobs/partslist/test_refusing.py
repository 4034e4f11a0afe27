"""What is no parts list is refused with one sentence, and nothing else ever escapes."""

import io
import struct
import zipfile
from contextlib import suppress

import pytest
import xlsxwriter
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from jobs.partslist.columns import find_columns
from jobs.partslist.grid import MOST_BYTES, MOST_COLUMNS, MOST_ROWS, NotAPartsList
from jobs.partslist.reading import read_file, read_paste, refuse_too_large
from jobs.partslist.rows import ReadList, understand
from jobs.partslist.workbook_process import MOST_UNPACKED_BYTES
from tests.jobs.partslist.books import (
    changed_member,
    compound_file,
    ods_file,
    xls_file,
    xlsx_file,
    zipped,
)

PNG = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(40)
LOCKED_XLS = struct.pack("<HHHHIIHHHHHH", 0x809, 16, 0x600, 5, 0, 0, 0, 0, 0x2F, 4, 0, 0)


def zip_bomb() -> bytes:
    book = zipped({"[Content_Types].xml": "", "xl/workbook.xml": bytes(MOST_UNPACKED_BYTES + 1)})
    assert len(book) < MOST_BYTES
    return book


def one_far_cell() -> bytes:
    """A few kilobytes that ask calamine for 16 billion cells."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["Length", "Width"])
        sheet.write_number(1_048_575, 16_383, 1)
    return data.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "sentence"),
    [
        ("empty.csv", b"", "It is empty."),
        ("blank.csv", b" \r\n\r\n", "It is empty."),
        ("nothing.csv", b",,,\r\n\r\n,,", "There is nothing in it"),
        ("nothing.xlsx", xlsx_file(Parts=[]), "There is nothing in it"),
        ("huge.csv", b"a,b\n" * 13_107_200, "It has 50.0 MB; a parts list may have 5."),
        ("photo.xlsx", PNG, "It is a picture, not a list."),
        ("drawing.csv", b"%PDF-1.7\n%\xe2\xe3", "It is a PDF, not a list."),
        ("tool.csv", b"MZ\x90\0\3\0\0\0" + bytes(200), "It is a program, not a list."),
        ("noise.csv", bytes(range(256)), "It is not text."),
        ("table.xls", b"<html><table><tr><td>Length", "It is a web page"),
        ("cut-short.xlsx", xlsx_file()[:-300], "It is damaged or no spreadsheet."),
        ("letter.docx", zipped({"word/document.xml": "<x/>"}), "It is damaged or no spreadsheet."),
        (
            "broken.xlsx",
            changed_member(xlsx_file(), "xl/workbook.xml", b"<sheets>", b"<she"),
            "It is damaged",
        ),
        ("broken.ods", zipped({"mimetype": "", "content.xml": "<office"}), "It is damaged"),
        ("broken.xls", compound_file("Workbook", b"\1\2\3"), "It is damaged"),
        ("locked.xlsx", compound_file("EncryptedPackage", b"x"), "It is protected with a password."),
        ("locked.xls", compound_file("Workbook", LOCKED_XLS), "It is protected with a password."),
        ("locked.ods", ods_file(is_locked=True), "It is protected with a password."),
        ("bomb.xlsx", zip_bomb(), "It unpacks to more than any parts list holds."),
        ("far.xlsx", one_far_cell(), "asks for more room than a list needs"),
        ("long.csv", b"1,2\n" * (MOST_ROWS + 2), "It has 5,002 rows. A parts list may have 5,000"),
        ("long.xlsx", xlsx_file(Parts=[[1, 2]] * (MOST_ROWS + 2)), "It has 5,002 rows."),
        ("wide.csv", b"," * MOST_COLUMNS + b"x", "It has 61 columns. A parts list may have 60"),
        ("wide.xlsx", xlsx_file(Parts=[[1] * (MOST_COLUMNS + 1)]), "It has 61 columns."),
        ("novel.csv", b"Length,Width\n3," + b"x" * 2_001, "Row 2 has a cell of more than 2,000 characters."),
        (
            "book.csv",
            b"Length,Width\n" + (b"x" * 1_900 + b",3\n") * 1_100,
            "more text than any parts list",
        ),
        ("open.csv", b'a,b\n1,"2\n3,4,5', "Row 2 has a quotation mark that opens a text"),
        ("endless.csv", b'a,b,c\n"' + b"x" * 200_000, "Row 2 has a cell of more than 2,000 characters."),
    ],
    ids=lambda value: value if isinstance(value, str) and "." in value[-5:] else "",
)
def test_it_is_refused_with_a_sentence_that_names_the_file(name, data, sentence):
    with pytest.raises(NotAPartsList) as refusal:
        read_file(name, data)
    assert str(refusal.value).startswith(f"{name} can't be read as a parts list. ")
    assert sentence in str(refusal.value)


def test_an_upload_can_be_refused_before_it_is_read():
    refuse_too_large(MOST_BYTES)
    with pytest.raises(NotAPartsList, match=r"It has 50\.0 MB"):
        refuse_too_large(50 * 1024 * 1024)


@pytest.mark.parametrize("text", ["", " \n\t", "\x00", "Length\x07,Width\n3,4", "\ud800"])
def test_a_paste_without_a_list_is_refused(text):
    with pytest.raises(NotAPartsList):
        read_paste(text)


def test_a_list_as_long_as_allowed_is_read():
    data = b"Length,Width\n" + b"34 1/2,23\n" * MOST_ROWS
    assert len(read_all("long.csv", data).rows) == MOST_ROWS


def test_a_zip_that_names_the_same_bytes_often_is_counted_as_often():
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/a.xml", bytes(MOST_UNPACKED_BYTES // 4))
        packed.filelist *= 5
    with pytest.raises(NotAPartsList, match="unpacks to more"):
        read_file("bomb.xlsx", data.getvalue())


# ---- nothing else escapes ---------------------------------------------------------------------------------


def read_all(name: str, data: bytes) -> ReadList:
    """A file all the way to its rows."""
    grid = read_file(name, data)
    return understand(grid, find_columns(grid, "in"), "in")


def only_refuses(name: str, data: bytes) -> None:
    with suppress(NotAPartsList):
        assert read_all(name, data).rows


@given(
    start=st.sampled_from([b"", b"\xff\xfe", b"\xef\xbb\xbf", b"Length,Width\n", b"sep="]),
    rest=st.binary(max_size=300),
)
@settings(max_examples=120, deadline=None)
def test_no_bytes_break_the_reading_of_text(start, rest):
    only_refuses("list.csv", start + rest)


@given(text=st.text(max_size=300))
@settings(max_examples=120, deadline=None)
@example(text='"')
@example(text="sep=\n")
def test_no_paste_breaks_the_reading(text):
    for header in ("", "Length,Width,Qty,Grain,Also\n", "L\tW\n"):
        with suppress(NotAPartsList):
            grid = read_paste(header + text)
            understand(grid, find_columns(grid, "mm"), "mm")


@given(
    cells=st.lists(
        st.lists(
            st.sampled_from(["1", "2", "34 1/2", "=A1", "#REF!", "Length", "W", "x", "", "or", "-3"]),
            max_size=6,
        ),
        max_size=8,
    )
)
@settings(max_examples=120, deadline=None)
def test_no_grid_breaks_the_understanding(cells):
    with suppress(NotAPartsList):
        grid = read_paste("\n".join("\t".join(row) for row in cells))
        understand(grid, find_columns(grid, "in"), "in")


REAL_BOOKS = {"xlsx": xlsx_file(), "ods": ods_file(), "xls": xls_file()}


@given(data=st.data(), kind=st.sampled_from(sorted(REAL_BOOKS)))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_damage_to_a_real_spreadsheet_breaks_the_reading(data, kind):
    book = bytearray(REAL_BOOKS[kind])
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(book) - 1))
        book[at : at + data.draw(st.integers(0, 2))] = data.draw(st.binary(max_size=2))
    only_refuses(f"list.{kind}", bytes(book))
