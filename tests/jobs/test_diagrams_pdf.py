from typing import Any

import pypdfium2
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from jobs.cautions import DEFER, Caution, Handled, SawSettings, cautions_for
from jobs.diagrams.geometry import read_layout
from jobs.diagrams.pdf import BuyRow, Figure, Page, RackRow, SheetPage, UnplacedRow, plan_pdf
from shared.measure import exact_text, inches
from tests.jobs.layouts import BENCH, BENCH_NAMES, sawn_sheets


def make_sheet(heading: str = "Sheet K7M-2Q4", tree: Any = BENCH, **others: Any) -> SheetPage:
    names = others.pop("names", BENCH_NAMES)
    layout = read_layout(
        tree, length=inches(96), width=inches(48), kerf=inches("1/8"), unit="in", names=names
    )
    return SheetPage(heading, ["white oak 3/4", "bay B2"], layout, **others)


def make_row(**others: str) -> RackRow:
    row = {
        "piece": "K7M-2Q4",
        "what": "white oak 3/4",
        "where": "bay B2",
        "size": "96 × 48",
        "gives": "2 Case side",
        "leaves": "2 offcuts",
    }
    return RackRow(**(row | others))


def pages_of(pdf: bytes) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]


def flat(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


def test_the_summary_comes_first_and_each_layout_after_it() -> None:
    pdf = plan_pdf(
        [make_sheet(rack=make_row())],
        title="26-041 Window bench",
        figures=[Figure("11 of 38", "parts from offcuts")],
        buy_list=[BuyRow("1 sheet", "white oak 1/4", "96 × 48", "$71.00")],
        unplaced=[UnplacedRow(2, "Tall front", "no stock is wide enough")],
    )
    first, second = map(flat, pages_of(pdf))
    for said in (
        "26-041 Window bench",
        "11 of 38",
        "$71.00",
        "Tall front",
        "no stock is wide enough",
        "bay B2",
    ):
        assert said in first
    assert "Sizes are in inches" in first
    assert "Sheet K7M-2Q4" in second
    assert "Case side" in second
    assert "Crosscut" in second


def test_every_page_says_whose_it_is_how_many_there_are_and_what_it_defers_to() -> None:
    pages = pages_of(plan_pdf([make_sheet()], title="26-041 Window bench"))
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in text
        assert "26-041 Window bench" in text
        assert DEFER in flat(text)


def test_two_simple_layouts_share_a_page() -> None:
    assert len(pages_of(plan_pdf([make_sheet(), make_sheet("Sheet R3T-9AV")], title="Bench"))) == 2


@pytest.mark.parametrize(("page", "points"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_the_page_is_letter_or_a4(page: Page, points: tuple[int, int]) -> None:
    document = pypdfium2.PdfDocument(plan_pdf([make_sheet()], title="Bench", page=page))
    assert tuple(map(round, document[0].get_size())) == points


def test_without_prices_there_is_no_column_for_them() -> None:
    text = pages_of(plan_pdf([make_sheet(rack=make_row())], title="Bench"))[0]
    assert "Value" not in text
    assert "Value" in pages_of(plan_pdf([make_sheet(rack=make_row(value="$92.00"))], title="Bench"))[0]


def test_a_caution_stands_under_the_layout_it_is_about() -> None:
    slim = {"cut": "rip", "of": [{"size": "1", "part": "side"}, {"size": "46 7/8", "offcut": True}]}
    sheets = [make_sheet(), make_sheet("Sheet R3T-9AV", slim)]
    handled = [Handled(sheet.heading, sheet.layout) for sheet in sheets]
    cautions = cautions_for(handled, SawSettings(), "in")
    pages = [flat(text) for text in pages_of(plan_pdf(sheets, title="Bench", cautions=cautions))]
    assert "Wood dust" in pages[0]
    assert "is under 2 in" in pages[-1].split("Sheet R3T-9AV")[1]


def test_only_the_projects_own_typeface_is_used_and_it_is_embedded() -> None:
    pdf = plan_pdf([make_sheet(rack=make_row())], title="Bench")
    assert b"Helvetica" not in pdf
    assert pdf.count(b"/FontFile2") >= 2


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert plan_pdf([make_sheet()], title="Bench") == plan_pdf([make_sheet()], title="Bench")


def test_a_layout_with_more_steps_than_a_page_goes_on_over_the_next() -> None:
    widths = [inches("1/2") + number * inches("1/16") for number in range(26)]
    rest = inches(48) - sum(widths) - len(widths) * inches("1/8")
    strips = [{"size": exact_text(width, "in"), "part": "side"} for width in widths]
    tree = {"cut": "rip", "of": [*strips, {"size": exact_text(rest, "in"), "offcut": True}]}
    sheet = make_sheet(tree=tree, names={"side": "Side with a name that goes on and on " * 6})
    text = flat(" ".join(pages_of(plan_pdf([sheet], title="Bench"))))
    assert "□ 1 " in text
    assert "□ 27 Left is an offcut" in text


@example("</para><b>&amp; <img src=x> 3/4")
@given(st.text(max_size=40))
@settings(max_examples=25)
def test_anything_may_stand_in_a_name(name: str) -> None:
    sheet = make_sheet(name, names={"side": name}, rack=make_row(what=name))
    caution = Caution("strip", "careful", name, name, name, name, 0)
    pdf = plan_pdf(
        [sheet], title=name, lines=[name], cautions=[caution], unplaced=[UnplacedRow(1, name, name)]
    )
    assert len(pages_of(pdf)) >= 2


@given(st.lists(sawn_sheets(), min_size=1, max_size=3))
@settings(max_examples=10)
def test_any_layout_goes_on_paper(sheets: list[dict[str, Any]]) -> None:
    pages = [SheetPage(f"Sheet {number}", [], read_layout(**sheet)) for number, sheet in enumerate(sheets)]
    text = flat(" ".join(pages_of(plan_pdf(pages, title="Random"))))
    assert all(page.heading in text for page in pages)
