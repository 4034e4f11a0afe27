"""Labels as pictures: one dot of the printer a pixel, black or white, read back by an independent decoder."""

import io
from decimal import Decimal

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from inventory.labels import DPI, LAYOUTS, LabelTooSmall, labels_png
from inventory.labels.qr import size_on, symbol
from tests.inventory.labelling import QR_ONLY, make_face, make_place

ROLLS = [key for key, layout in LAYOUTS.items() if layout.is_roll]


def pictures(*faces, roll="roll-57x32mm", dpi=203, **others):
    return [Image.open(io.BytesIO(png)) for png in labels_png(faces, LAYOUTS[roll], dpi=dpi, **others)]


def read(picture):
    return [code.text for code in zxingcpp.read_barcodes(np.asarray(picture.convert("L")), formats=QR_ONLY)]


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("roll", ROLLS)
def test_a_picture_is_read_and_has_a_pixel_for_each_dot_of_the_label(roll, dpi):
    faces = [make_face(), make_place(2)]
    made = pictures(*faces, roll=roll, dpi=dpi)
    assert [read(one) for one in made] == [[face.address] for face in faces]
    size = [
        round(Decimal(ticks) / 40_000 / Decimal("25.4") * dpi)
        for ticks in (LAYOUTS[roll].label_width, LAYOUTS[roll].label_height)
    ]
    assert [list(one.size) for one in made] == [size, size]
    assert made[0].mode == "1"
    assert made[0].info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)


def modules_of(picture, dots):
    """The symbol's modules, each a square of so many pixels that are all alike."""
    ink = ~np.asarray(picture)
    at = zxingcpp.read_barcode(np.asarray(picture.convert("L")), formats=QR_ONLY).position
    left, top = round(at.top_left.x), round(at.top_left.y)
    side = round((at.top_right.x - at.top_left.x) / dots) * dots
    near = [(left + across, top + down) for across in range(-3, 4) for down in range(-3, 4)]
    squares = [_whole(ink[y : y + side, x : x + side], dots) for x, y in near]
    return next(square for square in squares if square is not None)


def _whole(ink, dots):
    """None where a module is neither all dark nor all light."""
    count = ink.shape[0] // dots
    blocks = ink.reshape(count, dots, count, dots).sum(axis=(1, 3))
    return blocks > 0 if set(np.unique(blocks)) == {0, dots * dots} else None


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("roll", ["roll-2x1in", "roll-57x32mm", "roll-4x2in"])
def test_every_module_is_a_square_of_whole_dots(roll, dpi):
    face = make_face()
    size = size_on(LAYOUTS[roll], len(face.address), dpi)
    seen = modules_of(pictures(face, roll=roll, dpi=dpi)[0], size.dots)
    meant = np.zeros_like(seen)
    for column, row, many in symbol(face.address, size.level).runs:
        meant[row, column : column + many] = True
    assert (seen == meant).all()


def test_the_offset_moves_the_print():
    still, moved = (
        np.argwhere(~np.asarray(pictures(make_face(), offset_x_mm=offset)[0]))[:, 1].min()
        for offset in (0, 1)
    )
    assert moved - still == pytest.approx(203 / 25.4, abs=1)


def test_a_sheet_of_labels_is_no_picture():
    with pytest.raises(ValueError, match="Choose a roll"):
        pictures(make_face(), roll="letter-30")


def test_a_label_too_small_says_so():
    with pytest.raises(LabelTooSmall):
        pictures(make_face(address="A" * 120), roll="roll-2x1in")
