"""What the PDF says and where it starts."""

from datetime import date
from decimal import Decimal
from functools import cache

import pypdfium2
import pytest

from inventory.labels import LAYOUTS, came_from, labels_pdf, module_mm
from shared.codes import code_for, grouped
from shared.measure import TICKS_PER_INCH
from tests.inventory.labelling import make_face, make_place, printed_on, scan, words_of

LETTER = LAYOUTS["letter-30"]


def pages(pdf):
    with pypdfium2.PdfDocument(pdf) as document:
        return len(document)


def test_a_label_says_code_material_size_and_where_it_came_from():
    face = make_face(lines=(came_from(code_for(77), date(2026, 10, 12)),))
    words = words_of(labels_pdf([face], LETTER))
    assert grouped(face.code) in words
    assert f"from {grouped(code_for(77))}, 12 Oct 2026" in words
    assert "White oak" in words
    assert "veneer core" in words
    assert "offcut" in words
    assert "401⁄2 × 22" in words.replace("40 1", "401")


def test_a_part_label_says_all_even_on_the_smallest_label_of_a_sheet():
    lines = ("26-041 Wash stand", "1 of 2", "strips on 2 long edges", "set A, 1 of 4", "next: edge it")
    face = make_face(kind="part", heading="case side", length="34 1/2", width="15 1/4", lines=lines)
    words = words_of(labels_pdf([face], LETTER))
    assert "…" not in words
    assert all(line in words.replace(" · ", " ") for line in (*lines, "case side"))


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
    still = printed_on(labels_pdf([make_face()], LETTER))
    moved = printed_on(labels_pdf([make_face()], LETTER, offset_x_mm=Decimal("1.5"), offset_y_mm=Decimal(-2)))
    assert len(still) == len(moved)
    for one, other in zip(still, moved, strict=True):
        assert other.bounds[0] - one.bounds[0] == pytest.approx(1.5 * 72 / 25.4, abs=0.25)
        # PDF counts from the bottom: up is more.
        assert other.bounds[1] - one.bounds[1] == pytest.approx(2 * 72 / 25.4, abs=0.25)


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


@pytest.mark.parametrize("key", ["letter-30", "a4-24", "roll-57x32mm"])
def test_the_test_page_comes_first_and_tells_how_to_measure(key):
    pdf = labels_pdf([make_face()], LAYOUTS[key], test_page=True)
    assert pages(pdf) == 2
    assert "Printer test" in words_of(pdf)
    assert [code.page for code in scan(pdf)] == [1]


def test_a_test_page_needs_no_labels():
    assert pages(labels_pdf([], LETTER, test_page=True)) == 1


def test_a_page_holds_vectors_only():
    printed = printed_on(labels_pdf([make_face(number) for number in range(30)], LETTER))
    assert {item.kind for item in printed} == {"path", "text"}


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
        make_face(9, kind="goods", heading="Brass butt hinge 2 in", size_text="box of 10", length=0, width=0),
        make_face(8, kind="part", heading="Ünïcödé ½ “quoted” ≥ 3", size_text="34 1/2 × 15 1/4"),
    ]


def overlap(one, other):
    """How far two boxes lie over each other, across and down."""
    return min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])


@cache
def extreme_pages(key):
    """Each extreme face on a page of its own; kept, as both tests below look at all of them."""
    return [(face, printed_on(labels_pdf([face], LAYOUTS[key]))) for face in extremes()]


@pytest.mark.parametrize("key", LAYOUTS)
def test_nothing_is_printed_outside_the_frame(key):
    layout = LAYOUTS[key]
    left, top = layout.corner(1)
    edges = (
        left + layout.inset_x,
        layout.paper_height - top - layout.label_height + layout.inset_y,
        left + layout.label_width - layout.inset_x,
        layout.paper_height - top - layout.inset_y,
    )
    frame = [ticks * 72 / TICKS_PER_INCH for ticks in edges]
    slack = 3.6  # half the word in the frame's line, in points; the frame keeps 4 from a label's edge
    for _, printed in extreme_pages(key):
        for x, y, to_x, to_y in (item.bounds for item in printed):
            assert frame[0] - slack <= x <= to_x <= frame[2] + slack
            assert frame[1] - slack <= y <= to_y <= frame[3] + slack


@pytest.mark.parametrize("key", LAYOUTS)
def test_words_keep_clear_of_the_code_and_of_each_other(key):
    for face, printed in extreme_pages(key):
        # The quiet zone of 4 modules in points; the word in the frame's line may touch it.
        quiet = float(module_mm(LAYOUTS[key], face.address)) * 4 * 72 / 25.4 - 1.5
        # The scan code is the path with by far the most lines.
        left, bottom, right, top = max(printed, key=lambda item: item.segments).bounds
        clear = (left - quiet, bottom - quiet, right + quiet, top + quiet)
        texts = [item.bounds for item in printed if item.kind == "text"]
        assert not [text for text in texts if min(overlap(text, clear)) > 0]
        for place, one in enumerate(texts):
            for other in texts[place + 1 :]:
                assert min(overlap(one, other)) < 0.5 or is_same_line(one, other, LAYOUTS[key].is_turned)


def is_same_line(one, other, turned):
    """A fraction's figures and slash reach into each other; lines do not: their middles lie further apart."""
    low, high = (0, 2) if turned else (1, 3)
    taller = max(one[high] - one[low], other[high] - other[low])
    return abs(one[low] + one[high] - other[low] - other[high]) / 2 < 0.45 * taller
