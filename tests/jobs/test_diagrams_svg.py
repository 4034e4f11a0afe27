import re
from typing import Any
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from jobs.diagrams.geometry import Layout, read_layout
from jobs.diagrams.marks import DESK, PHONE
from jobs.diagrams.piece import piece_drawing
from jobs.diagrams.svg import layout_drawing
from shared.measure import inches
from tests.jobs.layouts import BENCH, BENCH_NAMES, sawn_sheets

SVG = "{http://www.w3.org/2000/svg}"


def make_layout(tree: Any = BENCH, length: str = "96", width: str = "48", **others: Any) -> Layout:
    defaults: dict[str, Any] = {"kerf": inches("1/8"), "unit": "in", "names": BENCH_NAMES}
    return read_layout(tree, length=inches(length), width=inches(width), **(defaults | others))


def drawn(layout: Layout, **others: Any) -> ElementTree.Element:
    return ElementTree.fromstring(layout_drawing(layout, prefix="sheet-1", **others).svg)


def texts(svg: ElementTree.Element) -> list[str]:
    return ["".join(text.itertext()) for text in svg.iter(f"{SVG}text")]


def boxes(svg: ElementTree.Element, look: str) -> list[tuple[float, ...]]:
    return [
        tuple(float(box.attrib[side]) for side in ("x", "y", "width", "height"))
        for box in svg.iter(f"{SVG}rect")
        if box.get("class") == look
    ]


def in_a_row(size: str, part: str, count: int, rest: str) -> list[dict[str, Any]]:
    return [{"size": size, "part": part}] * count + [{"size": rest, "waste": True}]


def test_the_sheet_is_in_true_proportion() -> None:
    (sheet,) = boxes(drawn(make_layout()), "sheet")
    assert abs(sheet[2] / sheet[3] - 2) < 0.01


def test_names_sizes_and_dimensions_stand_on_the_drawing() -> None:
    said = texts(drawn(make_layout()))
    assert said.count("Case side") == said.count("Shelf") == 2
    assert {"96", "48", "14", "70", "151⁄4", "341⁄2 × 151⁄4"} <= set(said)


def test_parts_offcuts_and_waste_are_told_apart_without_colour() -> None:
    svg = drawn(make_layout())
    fills = {box.get("class"): box.get("fill") for box in svg.iter(f"{SVG}rect")}
    assert fills["offcut-hatch"] == "url(#sheet-1-hatch)"
    assert fills["waste-dots"] == "url(#sheet-1-dots)"
    dashed = {box.get("class"): "stroke-dasharray" in box.attrib for box in svg.iter(f"{SVG}rect")}
    assert dashed["offcut"]
    assert not dashed["part"]


def test_the_grain_is_drawn_on_grained_stock_only() -> None:
    assert list(drawn(make_layout()).iterfind(f"{SVG}path[@class='grain']"))
    assert not list(drawn(make_layout(is_grained=False)).iterfind(f"{SVG}path[@class='grain']"))


def test_the_same_layout_is_drawn_the_same_twice() -> None:
    assert layout_drawing(make_layout(), prefix="a") == layout_drawing(make_layout(), prefix="a")


def test_two_drawings_of_a_page_share_no_id() -> None:
    ids = [
        re.findall(r'id="([^"]+)"', layout_drawing(make_layout(), prefix=prefix).svg) for prefix in ("a", "b")
    ]
    assert ids[0]
    assert not set(ids[0]) & set(ids[1])


def test_what_the_drawing_shows_is_said_in_words() -> None:
    svg = drawn(make_layout())
    assert svg.get("role") == "img"
    assert svg.findtext(f"{SVG}title") == "Cutting layout, 96 × 48 in"
    assert "2 Case side, 34 1/2 × 15 1/4" in svg.findtext(f"{SVG}desc", "")


def test_parts_too_small_for_their_name_are_numbered_alike_and_listed() -> None:
    strip = {"size": "3", "cut": "crosscut", "of": in_a_row("2", "clip", 10, "74 3/4")}
    drawing = layout_drawing(
        make_layout(
            {"cut": "rip", "of": [strip, {"size": "44 7/8", "offcut": True}]}, names={"clip": "Table clip"}
        ),
        prefix="a",
    )
    (row,) = drawing.numbered
    assert (row.number, row.name, row.length, row.width, row.count) == (
        1,
        "Table clip",
        inches(2),
        inches(3),
        10,
    )
    assert texts(ElementTree.fromstring(drawing.svg)).count("1") == 10


def test_slivers_too_thin_for_a_number_are_pointed_at() -> None:
    slivers = [{"size": "1/4", "part": "bead"}] * 3
    svg = drawn(make_layout({"cut": "rip", "of": [*slivers, {"size": "46 7/8", "offcut": True}]}, names={}))
    assert len(list(svg.iterfind(f"{SVG}circle[@class='leader-dot']"))) == 3
    assert "1" in texts(svg)


def test_a_defect_is_crossed_out() -> None:
    svg = drawn(make_layout(defects=[{"x": "70", "y": "2", "length": "3", "width": "2"}]))
    assert len(boxes(svg, "defect")) == 1
    assert "1 defect is crossed out." in svg.findtext(f"{SVG}desc", "")


def test_forty_small_parts_stay_under_sixty_kilobytes() -> None:
    strip = {"size": "4 1/2", "cut": "crosscut", "of": in_a_row("9", "rail", 10, "4 3/4")}
    layout = make_layout({"cut": "rip", "of": [strip] * 4 + [{"size": "29 1/2", "offcut": True}]})
    assert len(layout_drawing(layout, prefix="a").svg) < 60_000


def test_a_piece_shows_which_way_its_grain_runs() -> None:
    along = ElementTree.fromstring(piece_drawing(inches("40 1/2"), inches(22), unit="in", prefix="a"))
    assert along.findtext(f"{SVG}desc") == "The grain runs along the length, from left to right."
    assert [text.text for text in along.iter(f"{SVG}text") if "transform" in text.attrib] == []
    across = ElementTree.fromstring(
        piece_drawing(inches(18), inches(7), unit="in", prefix="a", grain="width")
    )
    assert [text.text for text in across.iter(f"{SVG}text") if "transform" in text.attrib] == ["grain"]
    none = ElementTree.fromstring(piece_drawing(inches(18), inches(7), unit="in", prefix="a", grain="none"))
    assert texts(none) == ["no grain"]
    assert not list(none.iterfind(f"{SVG}path"))


@given(st.text())
def test_a_part_may_be_called_anything(name: str) -> None:
    svg = drawn(make_layout(names={"side": name}))
    assert svg.tag == f"{SVG}svg"
    assert not list(svg.iter(f"{SVG}script"))


@given(sawn_sheets())
def test_nothing_is_drawn_outside_the_drawing_or_against_the_content_policy(sheet: dict[str, Any]) -> None:
    for paper in (PHONE, DESK):
        svg = drawn(read_layout(**sheet), paper=paper)
        width, height = float(svg.attrib["width"]), float(svg.attrib["height"])
        for element in svg.iter():
            assert "style" not in element.attrib
            assert element.tag != f"{SVG}style"
            x, y = float(element.get("x", "0")), float(element.get("y", "0"))
            assert 0 <= x <= width
            assert 0 <= y <= height
