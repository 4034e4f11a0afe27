from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given

from jobs.cutting.sawn import BlankTree, Sawn, UnsoundLayoutError, saw_up
from jobs.diagrams.geometry import blank_trees, place, read_layout
from shared.measure import NotALength, inches, mm
from tests.jobs.layouts import BENCH, sawn_sheets


def bench(**others: Any) -> dict[str, Any]:
    return {
        "tree": BENCH,
        "length": inches(96),
        "width": inches(48),
        "trim": 0,
        "kerf": inches("1/8"),
        "unit": "in",
    } | others


def test_the_bench_lies_where_it_was_worked_out_by_hand() -> None:
    shelf, other_shelf = (piece for piece in place(**bench()) if piece.key == "shelf")
    assert (shelf.x, shelf.y) == (0, inches("15 3/8"))
    assert (other_shelf.x, other_shelf.length, other_shelf.width) == (
        inches("46 3/8"),
        inches("46 1/4"),
        inches(14),
    )


def test_trim_moves_every_piece_in_from_the_edges() -> None:
    sheet = place(**bench(tree={"part": "side"}, trim=inches("1/4")))
    assert [(piece.x, piece.y, piece.length, piece.width) for piece in sheet] == [
        (inches("1/4"), inches("1/4"), inches("95 1/2"), inches("47 1/2"))
    ]


def test_a_tree_too_wide_for_its_sheet_is_refused() -> None:
    with pytest.raises(UnsoundLayoutError, match=r"only \d+ is there"):
        place(**bench(width=inches("47 15/16")))


def test_a_size_that_is_no_length_is_refused() -> None:
    with pytest.raises(NotALength, match="not a length"):
        place(**bench(tree={"cut": "rip", "of": [{"size": "wide", "part": "side"}]}))


def test_a_sheet_that_trimming_eats_up_is_refused() -> None:
    with pytest.raises(UnsoundLayoutError, match="nothing is left"):
        place(**bench(tree={"waste": True}, trim=inches(24)))


@given(sawn_sheets())
def test_pieces_lie_inside_the_trimmed_sheet_and_never_over_one_another(sheet: dict[str, Any]) -> None:
    placed = place(**sheet)
    trim = sheet["trim"]
    for piece in placed:
        assert trim <= piece.x < piece.x + piece.length <= sheet["length"] - trim
        assert trim <= piece.y < piece.y + piece.width <= sheet["width"] - trim
    for index, one in enumerate(placed):
        for other in placed[index + 1 :]:
            beside = one.x + one.length <= other.x or other.x + other.length <= one.x
            above = one.y + one.width <= other.y or other.y + other.width <= one.y
            assert beside or above


@given(sawn_sheets())
def test_pieces_and_kerfs_together_are_the_trimmed_sheet(sheet: dict[str, Any]) -> None:
    whole = (sheet["length"] - 2 * sheet["trim"]) * (sheet["width"] - 2 * sheet["trim"])
    layout = read_layout(**sheet)
    assert (
        sum(piece.length * piece.width for piece in layout.placed()) + sawdust(layout.sheet, layout.kerf)
        == whole
    )


def sawdust(piece: Sawn, kerf: int) -> int:
    """Area of the kerfs between neighbours and of what the last cut takes, counted cut by cut."""
    if piece.cut is None:
        return 0
    lost = piece.left
    for one, other in pairwise(piece.of):
        gap = other.y - one.y - one.width if piece.cut == "rip" else other.x - one.x - one.length
        assert gap == kerf
        lost += gap
    across = piece.length if piece.cut == "rip" else piece.width
    return lost * across + sum(sawdust(child, kerf) for child in piece.of)


def test_a_blank_is_drawn_as_its_parts_one_kerf_apart() -> None:
    fronts = BlankTree(
        {"cut": "rip", "of": ["top", "bottom"]}, {"top": (mm(400), mm(150)), "bottom": (mm(400), mm(200))}
    )
    tree = {"cut": "crosscut", "of": [{"size": 400, "blank": "fronts"}, {"size": 97, "waste": True}]}
    placed = place(
        tree, length=mm(500), width=mm(353), trim=0, kerf=mm(3), unit="mm", blanks={"fronts": fronts}
    )
    assert [(piece.key, piece.y, piece.width) for piece in placed if piece.kind == "part"] == [
        ("top", 0, mm(150)),
        ("bottom", mm(153), mm(200)),
    ]


def test_a_problems_blanks_come_with_the_sizes_their_parts_lie_in() -> None:
    # Fronts 18 long with the grain across them stand 18 wide in the blank; the door beside them is as tall.
    problem = {
        "unit": "in",
        "parts": [
            {"id": "front", "length": 18, "width": "7 1/2", "grain": "width"},
            {"id": "door", "length": "20", "width": "18", "grain": "length"},
        ],
        "blanks": [{"id": "row", "tree": {"cut": "crosscut", "of": ["front", "door"]}}],
    }
    tree = {"cut": "crosscut", "of": [{"size": "27 5/8", "blank": "row"}, {"size": "4 1/4", "offcut": True}]}
    placed = place(
        tree,
        length=inches(32),
        width=inches(18),
        trim=0,
        kerf=inches("1/8"),
        unit="in",
        blanks=blank_trees(problem),
    )
    assert [(piece.key, piece.x, piece.length, piece.width) for piece in placed if piece.kind == "part"] == [
        ("front", 0, inches("7 1/2"), inches(18)),
        ("door", inches("7 5/8"), inches(20), inches(18)),
    ]


def test_a_turned_blank_turns_its_parts_and_its_cuts() -> None:
    blank = BlankTree({"cut": "rip", "of": ["top", "bottom"]}, {"top": (40, 15), "bottom": (40, 20)})
    sheet = saw_up({"blank": "fronts", "turned": True}, length=38, width=40, kerf=3, blanks={"fronts": blank})
    assert [(piece.key, piece.x, piece.length, piece.width, piece.turned) for piece in sheet.leaves()] == [
        ("top", 0, 15, 40, True),
        ("bottom", 18, 20, 40, True),
    ]


def test_a_blank_whose_parts_are_not_known_is_drawn_whole() -> None:
    sheet = saw_up({"blank": "fronts"}, length=40, width=38, kerf=3)
    assert [(piece.kind, piece.key) for piece in sheet.leaves()] == [("blank", "fronts")]
