"""What the PDF says and where it starts."""

from datetime import date
from decimal import Decimal

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from inventory.labels import LAYOUTS, came_from, labels_pdf, layout_for
from shared.codes import code_for, grouped
from shared.measure import TICKS_PER_INCH
from tests.inventory.labelling import make_face, make_place, scan, words_of

LETTER = LAYOUTS["letter-30"]


def pages(pdf):
    return len(pypdfium2.PdfDocument(pdf))


def test_a_label_says_code_material_size_and_where_it_came_from():
    face = make_face(lines=(came_from(code_for(77), date(2026, 10, 12)),))
    words = words_of(labels_pdf([face], LETTER))
    assert grouped(face.code) in words
    assert f"from {grouped(code_for(77))}, 12 Oct 2026" in words
    assert "White oak" in words
    assert "veneer core" in words
    assert "offcut" in words
    assert "401⁄2 × 22" in words.replace("40 1", "401")


def test_a_place_is_known_by_its_name():
    assert "Bay A1, shelf 2" in words_of(labels_pdf([make_place()], LAYOUTS["roll-4x6in"]))


def test_a_used_sheet_is_started_where_its_labels_are():
    (code,) = scan(labels_pdf([make_face()], LETTER, start=17))
    # Label 17 is in the sixth row, second column: 0.1875 + 2.75 in from the left, 0.5 + 5 in from the top.
    assert Decimal("2.9375") * Decimal("25.4") < code.left < code.right < Decimal("5.5625") * Decimal("25.4")
    assert Decimal("5.5") * Decimal("25.4") < code.top < code.bottom < Decimal("6.5") * Decimal("25.4")


@pytest.mark.parametrize(
    ("count", "start", "expected"), [(1, 1, 1), (30, 1, 1), (31, 1, 2), (1, 30, 1), (2, 30, 2), (60, 17, 3)]
)
def test_there_are_as_many_pages_as_needed(count, start, expected):
    assert pages(labels_pdf([make_face(number) for number in range(count)], LETTER, start=start)) == expected


def test_the_offset_moves_all_print_right_and_down():
    (code,) = scan(labels_pdf([make_face()], LETTER), dpi=600)
    (moved,) = scan(
        labels_pdf([make_face()], LETTER, offset_x_mm=Decimal("1.5"), offset_y_mm=Decimal(2)), dpi=600
    )
    assert moved.left - code.left == pytest.approx(Decimal("1.5"), abs=Decimal("0.1"))
    assert moved.top - code.top == pytest.approx(Decimal(2), abs=Decimal("0.1"))


@pytest.mark.parametrize("start", [0, 31, -1])
def test_a_start_beyond_the_sheet_is_refused(start):
    with pytest.raises(ValueError, match="The first label can be 1 to 30 on this sheet"):
        labels_pdf([make_face()], LETTER, start=start)


def test_nothing_to_print_is_refused():
    with pytest.raises(ValueError, match="There are no labels to print"):
        labels_pdf([], LETTER)


def test_an_offset_of_a_whole_label_is_refused():
    with pytest.raises(ValueError, match="10 mm at most"):
        labels_pdf([make_face()], LETTER, offset_x_mm=Decimal("25.4"))


def test_a_lower_case_address_is_refused_because_it_makes_a_larger_code():
    with pytest.raises(ValueError, match="Write it with capitals"):
        make_face(address="http://192.168.1.20:8000/S/K7M2Q4")


def test_an_unknown_layout_is_refused_with_the_ones_there_are():
    with pytest.raises(ValueError, match=r'no label layout "letter-31"\. There are letter-30, '):
        layout_for("letter-31")


@pytest.mark.parametrize("key", ["letter-30", "a4-24", "roll-57x32mm"])
def test_the_test_page_comes_first_and_tells_how_to_measure(key):
    pdf = labels_pdf([make_face()], LAYOUTS[key], test_page=True)
    assert pages(pdf) == 2
    assert "Printer test" in words_of(pdf)
    assert [code.page for code in scan(pdf)] == [1]


def test_a_test_page_needs_no_labels():
    assert pages(labels_pdf([], LETTER, test_page=True)) == 1


def test_a_page_holds_vectors_only():
    page = pypdfium2.PdfDocument(labels_pdf([make_face(number) for number in range(30)], LETTER))[0]
    kinds = {item.type for item in page.get_objects()}
    assert kinds <= {pdfium.FPDF_PAGEOBJ_PATH, pdfium.FPDF_PAGEOBJ_TEXT}


def test_only_embedded_fonts_are_listed():
    pdf = labels_pdf([make_face()], LETTER)
    assert b"Helvetica" not in pdf
    assert pdf.count(b"/FontFile2") == 2


def test_the_same_labels_make_the_same_file():
    assert labels_pdf([make_face()], LETTER) == labels_pdf([make_face()], LETTER)


def extremes():
    return [
        make_face(1, heading="W" * 200, lines=("M" * 200, "M" * 200), size_text="1199 63/64 × 1199 63/64"),
        make_face(2, heading="", lines=()),
        make_face(3, length="1200", width="1/64", lines=("a", "b", "c", "d", "e", "f")),
        make_face(4, length="1/64", width="1200"),
        make_face(5, kind="board", grain="none", heading="gypjq " * 30, lines=("gypjq " * 30,) * 3),
        make_place(6, heading="A long name of a place " * 9, lines=("w " * 90,) * 5),
        make_face(7, kind="goods", heading="Hinge " * 40, size_text="box of 1000", length=0, width=0),
        make_face(8, kind="part", heading="Ünïcödé ½ “quoted” ≥ 3", size_text="34 1/2 × 15 1/4"),
    ]


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=lambda layout: layout.key)
@pytest.mark.parametrize("number", range(8))
def test_nothing_is_printed_outside_the_frame(layout, number):
    page = pypdfium2.PdfDocument(labels_pdf([extremes()[number]], layout))[0]
    left, top = layout.corner(1)
    edges = (
        left + layout.inset_x,
        layout.paper_height - top - layout.label_height + layout.inset_y,
        left + layout.label_width - layout.inset_x,
        layout.paper_height - top - layout.inset_y,
    )
    frame = [ticks * 72 / TICKS_PER_INCH for ticks in edges]
    for item in page.get_objects():
        x, y, to_x, to_y = item.get_bounds()
        slack = 3.6  # half the word in the frame's line, in points; the frame keeps 4 from a label's edge
        assert frame[0] - slack <= x <= to_x <= frame[2] + slack
        assert frame[1] - slack <= y <= to_y <= frame[3] + slack
