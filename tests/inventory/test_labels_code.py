"""How large the scan code is, and when a label is too small for it."""

from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.labels import DPI, LAYOUTS, LabelTooSmall, labels_pdf, module_mm
from inventory.labels.qr import LEVELS, size_on, smallest_version, symbol
from shared.measure import mm
from tests.inventory.labelling import make_face
from tests.outside.reference import rows

# Alphanumeric characters that a version holds at a level.
CAPACITIES = [
    (row["ec_level"], int(row["version"]), int(row["alphanumeric"]))
    for row in rows("qr", kind="capacity")
    if row["ec_level"] in LEVELS
]


@pytest.mark.parametrize(("level", "version", "characters"), CAPACITIES)
def test_an_address_takes_the_smallest_symbol_that_holds_it(level, version, characters):
    assert smallest_version(characters, level) == version
    assert smallest_version(characters + 1, level) == version + 1


def test_the_smallest_label_still_carries_the_highest_level():
    # Version 3 holds 35 characters at level H (ISO/IEC 18004), 37 modules with the quiet zone: 18.8 mm at
    # 6 dots of 300 dpi. Of 38 characters it holds level Q, for version 4 would be 20.8 mm.
    address = "HTTP://192.168.1.20:8000/S/K7M2Q4"
    assert len(address) <= 35
    assert size_on(LAYOUTS["roll-2x1in"], len(address)) == ("H", 3, 6, 300)
    assert size_on(LAYOUTS["roll-2x1in"], 38) == ("Q", 3, 6, 300)


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=lambda layout: layout.key)
def test_every_built_in_label_has_room_for_the_highest_level(layout):
    assert {size_on(layout, len(make_face().address), dpi).level for dpi in DPI} == {"H"}


def test_the_runs_draw_the_three_finder_patterns():
    # ISO/IEC 18004: 7 × 7 squares in three corners, rows 1011101 in the middle.
    drawn = symbol("HTTP://192.168.1.20:8000/S/K7M2Q4", "H")
    dark = {(run.column + step, run.row) for run in drawn.runs for step in range(run.modules)}
    far = drawn.modules - 7
    for column, row in ((0, 0), (far, 0), (0, far)):
        assert "".join("01"[(column + step, row + 3) in dark] for step in range(7)) == "1011101"
        assert all((column + step, row) in dark and (column, row + step) in dark for step in range(7))


def test_runs_are_as_long_as_can_be():
    runs = symbol("HTTP://192.168.1.20:8000/S/K7M2Q4", "H").runs
    ends = {(run.column + run.modules, run.row) for run in runs}
    assert not ends & {(run.column, run.row) for run in runs}


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=lambda layout: layout.key)
def test_a_module_is_a_whole_number_of_dots_and_half_a_millimetre_or_more(layout, dpi):
    module = module_mm(layout, make_face().address, dpi)
    assert module >= Decimal("0.5")
    dots = module * dpi / Decimal("25.4")
    assert abs(dots - round(dots)) < Decimal("1e-9")


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=lambda layout: layout.key)
def test_the_code_leaves_more_than_half_of_the_label_to_words(layout):
    size = size_on(layout, len(make_face().address))
    side = size.side_modules * size.module_mm
    label_mm2 = Decimal(layout.label_width) * layout.label_height / mm(1) ** 2
    assert side * side < label_mm2 / 2


def test_a_label_too_small_says_so_and_what_would_do():
    tiny = replace(
        LAYOUTS["roll-2x1in"],
        label_width=mm("38.1"),
        label_height=mm(12),
        paper_width=mm("38.1"),
        paper_height=mm(12),
        pitch_x=mm("38.1"),
        pitch_y=mm(12),
    )
    # 33 modules of 6 dots at 300 dpi are 16.8 mm.
    with pytest.raises(
        LabelTooSmall, match=r"needs 16\.8 mm\. Choose a larger label or a shorter scan address"
    ):
        labels_pdf([make_face()], tiny)


def test_an_address_may_be_too_long_for_a_small_label():
    with pytest.raises(LabelTooSmall, match="address of 120 characters"):
        module_mm(LAYOUTS["letter-30"], "A" * 120)
