"""Label papers against published dimensions: data/reference/labels.csv, rows as read in general-purpose
open-source label template data, ISO 216 and ANSI/ASME Y14.1 (each row names its source)."""

from decimal import Decimal

import pytest

from inventory.labels import LAYOUTS, Layout
from shared.measure import TICKS_PER_INCH, TICKS_PER_MM
from tests.outside.reference import row

PAPERS = {"US Letter": "USL", "A4": "ISOA4"}
SHEETS = [layout for layout in LAYOUTS.values() if not layout.is_roll]
ROLLS = [layout for layout in LAYOUTS.values() if layout.is_roll]
TICKS = {"in": TICKS_PER_INCH, "mm": TICKS_PER_MM}


def published(layout: Layout, column: str) -> int:
    found = row("labels", layout.reference)
    return round(Decimal(found[column]) * TICKS[found["unit"]])


@pytest.mark.parametrize("layout", SHEETS, ids=lambda layout: layout.key)
def test_a_sheet_lies_as_published(layout):
    sheet = row("labels", layout.reference)
    assert (layout.paper, layout.unit) == (sheet["sheet"], sheet["unit"])
    assert (layout.columns, layout.rows) == (int(sheet["cols"]), int(sheet["rows"]))
    assert layout.count == int(sheet["count"])
    assert (layout.label_width, layout.label_height) == (
        published(layout, "label_w"),
        published(layout, "label_h"),
    )
    assert (layout.left_margin, layout.top_margin) == (
        published(layout, "left_margin"),
        published(layout, "top_margin"),
    )
    assert (layout.pitch_x, layout.pitch_y) == (published(layout, "pitch_x"), published(layout, "pitch_y"))


@pytest.mark.parametrize("layout", SHEETS, ids=lambda layout: layout.key)
def test_a_sheet_is_as_large_as_the_paper_standard_says(layout):
    paper = row("labels", PAPERS[layout.paper])
    assert (layout.paper_width, layout.paper_height) == tuple(
        round(Decimal(paper[side]) * TICKS[paper["unit"]]) for side in ("label_w", "label_h")
    )


@pytest.mark.parametrize("layout", ROLLS, ids=lambda layout: layout.key)
def test_a_roll_label_is_as_large_as_published(layout):
    assert row("labels", layout.reference)["kind"] == "roll_label"
    assert (layout.label_width, layout.label_height) == (
        published(layout, "label_w"),
        published(layout, "label_h"),
    )


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=lambda layout: layout.key)
def test_labels_lie_inside_the_paper_and_apart(layout):
    boxes = []
    for position in range(1, layout.count + 1):
        x, y = layout.corner(position)
        boxes.append((x, y, x + layout.label_width, y + layout.label_height))
    assert all(x >= 0 and y >= 0 for x, y, _, _ in boxes)
    assert all(right <= layout.paper_width and bottom <= layout.paper_height for _, _, right, bottom in boxes)
    for number, (left, top, right, bottom) in enumerate(boxes):
        for other in boxes[number + 1 :]:
            assert other[0] >= right or other[2] <= left or other[1] >= bottom or other[3] <= top


def test_the_two_papers_most_shops_have_are_there():
    letter, a4 = LAYOUTS["letter-30"], LAYOUTS["a4-24"]
    assert letter.name == "US Letter, 3 × 10 labels of 2 5/8 × 1 in"
    assert a4.name == "A4, 3 × 8 labels of 70 × 37 mm"


def test_no_two_layouts_share_a_name():
    assert len({layout.name for layout in LAYOUTS.values()}) == len(LAYOUTS)
