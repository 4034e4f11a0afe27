"""Every printed code is read back by a decoder that shares no code with the encoder, where it should lie."""

from decimal import Decimal

import pytest

from inventory.labels import LAYOUTS, labels_pdf, module_mm
from shared.measure import TICKS_PER_MM
from tests.inventory.labelling import make_face, make_place, scan

TOLERANCE_MM = Decimal("0.2")
KINDS = ("sheet", "offcut", "board", "part")
HEADINGS = (
    "White oak plywood 3/4 veneer core",
    "Ash 5/4",
    "White oak plywood 3/4 veneer core, rift cut, grade A-1, prefinished two sides",
    "Contreplaqué chêne naturel",
)


def two_hundred_faces():
    return [
        make_place(number, f"Bay {number}")
        if number % 7 == 0
        else make_face(number, kind=KINDS[number % 4], heading=HEADINGS[number % 3])
        for number in range(1, 201)
    ]


def box_mm(layout, position):
    x, y = layout.corner(position)
    return tuple(
        Decimal(ticks) / TICKS_PER_MM for ticks in (x, y, x + layout.label_width, y + layout.label_height)
    )


@pytest.mark.parametrize("key", ["letter-30", "a4-24"])
@pytest.mark.parametrize(
    ("start", "offset_x", "offset_y"), [(1, 0, 0), (17, Decimal("1.2"), Decimal("-0.7"))], ids=["new", "used"]
)
def test_each_of_two_hundred_labels_is_read_at_its_place(key, start, offset_x, offset_y):
    layout, faces = LAYOUTS[key], two_hundred_faces()
    seen = scan(labels_pdf(faces, layout, start=start, offset_x_mm=offset_x, offset_y_mm=offset_y))
    assert [code.text for code in seen] == [face.address for face in faces]
    for number, code in enumerate(seen, start - 1):
        assert code.page == number // layout.count
        left, top, right, bottom = box_mm(layout, number % layout.count + 1)
        assert left - TOLERANCE_MM <= code.left - offset_x <= code.right - offset_x <= right + TOLERANCE_MM
        assert top - TOLERANCE_MM <= code.top - offset_y <= code.bottom - offset_y <= bottom + TOLERANCE_MM


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("key", LAYOUTS)
def test_every_layout_is_read_at_both_usual_resolutions(key, dpi):
    faces = [make_face(number, kind=kind) for number, kind in enumerate(KINDS, 1)] + [make_place(9)]
    assert {code.text for code in scan(labels_pdf(faces, LAYOUTS[key]), dpi)} == {
        face.address for face in faces
    }


@pytest.mark.parametrize("key", ["roll-2x1in", "roll-57x32mm", "roll-4x3in"])
def test_the_code_measures_what_it_says(key):
    layout, face = LAYOUTS[key], make_face()
    (code,) = scan(labels_pdf([face], layout), dpi=1200)
    # An address of 33 characters is a version 3 symbol at level H (ISO/IEC 18004): 29 modules a side.
    assert code.right - code.left == pytest.approx(29 * module_mm(layout, face.address), abs=Decimal("0.1"))
    assert code.bottom - code.top == pytest.approx(29 * module_mm(layout, face.address), abs=Decimal("0.1"))


@pytest.mark.parametrize("origin", ["HTTPS://SAWBUCK.SHOP.EXAMPLE", "HTTP://WORKSHOP-NUMBER-TWO.LOCAL:8000"])
def test_a_longer_address_is_read_too(origin):
    faces = [make_face(number, origin=origin) for number in range(1, 31)]
    seen = scan(labels_pdf(faces, LAYOUTS["letter-30"]))
    assert [code.text for code in seen] == [face.address for face in faces]
