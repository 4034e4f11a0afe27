from collections import Counter
from functools import partial
from typing import Any

from hypothesis import given

from jobs.cutting.sawn import BlankTree, Sawn, saw_up
from jobs.cutting.sequence import Step, all_settings, cut_length, settings, steps
from jobs.cutting.wording import Name, in_words, plain
from jobs.diagrams.geometry import read_layout
from shared.measure import exact_ticks, format_length, inches
from tests.jobs.layouts import BENCH, BENCH_NAMES, sawn_sheets


def sequence_of(
    tree: Any, length: str = "96", width: str = "48", trim: str = "0", **others: Any
) -> list[Step]:
    sheet = saw_up(
        tree,
        length=inches(length),
        width=inches(width),
        kerf=inches("1/8"),
        trim=inches(trim),
        ticks=lambda size: exact_ticks(str(size), "in"),
        blanks=others.pop("blanks", None),
    )
    return steps(sheet, kerf=inches("1/8"), **others)


def words(sequence: list[Step], names: dict[str, str] | None = None) -> list[str]:
    return [plain(line, partial(format_length, unit="in")) for line in in_words(sequence, names or {})]


def leaf(size: str, part: str) -> dict[str, Any]:
    return {"size": size, "part": part}


def waste(size: str) -> dict[str, Any]:
    return {"size": size, "waste": True}


def test_the_bench_is_sawn_strip_by_strip() -> None:
    assert words(sequence_of(BENCH), BENCH_NAMES) == [
        "Rip to 15 1/4. Crosscut 2 × 34 1/2 Case side. Offcut 26 3/4 × 15 1/4: label it.",
        "Rip to 14. Crosscut 2 × 46 1/4 Shelf. Rest is waste.",
        "Left is 18 1/2 wide. Crosscut 70 Bench top. Offcut 25 7/8 × 18 1/2: label it.",
    ]


def test_the_bench_needs_five_settings_and_this_much_sawing() -> None:
    sequence = sequence_of(BENCH)
    assert settings(sequence) == 5  # rips at 15 1/4 and 14; stops at 34 1/2, 46 1/4 and 70
    assert cut_length(sequence) == inches(2 * 96) + 2 * inches("15 1/4") + 2 * inches(14) + inches("18 1/2")


def test_equal_strips_share_a_setting_and_a_sentence() -> None:
    strip = {"size": "15", "cut": "crosscut", "of": [leaf("30", "side"), leaf("30", "side"), waste("35 3/4")]}
    sequence = sequence_of({"cut": "rip", "of": [strip, strip, strip, waste("2 5/8")]})
    assert words(sequence) == [
        "Rip 3 strips to 15. From each: crosscut 2 × 30 side. Rest is waste. Left over 96 × 2 5/8: waste.",
    ]
    assert settings(sequence) == 2


def test_the_last_of_equal_pieces_needs_no_cut_where_it_is_what_is_left() -> None:
    assert words(
        sequence_of({"cut": "rip", "of": [leaf("6", "rail"), leaf("6", "rail")]}, "40", "12 1/8")
    ) == ["Rip 2 × 6 rail; the last needs no cut."]


def test_trim_cuts_come_first() -> None:
    sequence = sequence_of({"cut": "rip", "of": [leaf("20", "side"), waste("27 3/8")]}, trim="1/4")
    assert words(sequence)[0] == "Trim 1/4 off all four edges: 95 1/2 × 47 1/2 is left."
    assert settings(sequence) == 3


def test_stock_that_is_the_part_is_not_cut() -> None:
    sequence = sequence_of({"part": "shelf"}, "40", "14")
    assert words(sequence) == ["The whole 40 × 14 is shelf: no cut."]
    assert (settings(sequence), cut_length(sequence)) == (0, 0)


def test_pieces_that_are_sawn_on_later_are_marked_with_a_letter() -> None:
    piece = {"size": "20", "cut": "rip", "of": [leaf("7", "front"), leaf("8", "drawer"), waste("4 3/4")]}
    strip = {"size": "20", "cut": "crosscut", "of": [leaf("30", "side"), piece, waste("45 3/4")]}
    assert words(sequence_of({"cut": "rip", "of": [strip, waste("27 7/8")]})) == [
        "Rip to 20. Crosscut 30 side. Crosscut 20: mark it A. Rest is waste.",
        "From A (20 × 20): rip 7 front. Rip 8 drawer. Rest is waste.",
        "Left over 96 × 27 7/8: waste.",
    ]


def test_equal_strips_that_are_sawn_differently_are_marked_in_their_order() -> None:
    one = {"size": "15", "cut": "crosscut", "of": [leaf("30", "side"), leaf("30", "side"), waste("35 3/4")]}
    other = {"size": "15", "cut": "crosscut", "of": [leaf("50", "shelf"), waste("45 7/8")]}
    assert words(sequence_of({"cut": "rip", "of": [one, other, one, waste("2 5/8")]}))[:3] == [
        "Rip 3 × 15, in this order: mark A, mark B, mark A.",
        "From each of the 2 pieces A (96 × 15): crosscut 2 × 30 side. Rest is waste.",
        "From B (96 × 15): crosscut 50 shelf. Rest is waste.",
    ]


def test_a_narrow_piece_is_sawn_off_while_the_wide_one_is_still_there_to_hold() -> None:
    tree = {"cut": "rip", "of": [leaf("10", "shelf"), leaf("1", "lip"), leaf("1", "lip")]}
    assert words(sequence_of(tree, "40", "12 1/4", least_to_rip=inches(4))) == [
        "From the far edge rip 2 × 1 lip.",
        "Left is shelf, 10 wide.",
    ]


def test_a_short_piece_is_crosscut_while_the_long_one_is_still_there_to_hold() -> None:
    tree = {"cut": "crosscut", "of": [leaf("30", "side"), leaf("2", "block"), leaf("2", "block")]}
    assert words(sequence_of(tree, "34 1/4", "5", least_to_crosscut=inches(6))) == [
        "From the far end crosscut 2 × 2 block.",
        "Left is side, 30 long.",
    ]


def test_where_no_order_helps_the_cuts_go_as_drawn() -> None:
    tree = {"cut": "crosscut", "of": [leaf("2", "block"), leaf("1", "plug")]}
    assert words(sequence_of(tree, "3 1/8", "5", least_to_crosscut=inches(6))) == [
        "Crosscut 2 block.",
        "Left is plug, 1 long.",
    ]


def test_a_blank_is_named_and_its_parts_stay_in_order() -> None:
    fronts = BlankTree(
        {"cut": "crosscut", "of": ["left", "right"]},
        {"left": (inches(18), inches(7)), "right": (inches(18), inches(7))},
    )
    tree = {
        "cut": "crosscut",
        "of": [{"size": "36 1/8", "blank": "fronts"}, {"size": "11 3/4", "offcut": True}],
    }
    sequence = sequence_of(tree, "48", "7", blanks={"fronts": fronts})
    assert words(sequence, {"fronts": "Drawer fronts"}) == [
        "Crosscut 36 1/8, blank Drawer fronts: mark it A.",
        "From A, blank Drawer fronts, its parts kept in this order (36 1/8 × 7): crosscut 2 × 18; "
        "the last needs no cut, in this order: left, right.",
        "Left is an offcut 11 3/4 × 7: label it.",
    ]


@given(sawn_sheets())
def test_each_part_comes_off_the_saw_as_often_as_the_tree_has_it(sheet: dict[str, Any]) -> None:
    layout = read_layout(**sheet)
    sequence = steps(layout.sheet, kerf=layout.kerf, least_to_rip=inches(4), least_to_crosscut=inches(4))
    freed: Counter[str] = Counter()
    for setting, times in all_settings(sequence):
        for outcome in setting.outcomes:
            if outcome.kind == "part":
                freed[outcome.piece.key] += times * outcome.count
    if layout.sheet.kind == "part":
        freed[layout.sheet.key] += 1
    assert freed == Counter(piece.key for piece in layout.placed() if piece.kind == "part")


@given(sawn_sheets())
def test_every_cut_of_the_tree_is_made_once(sheet: dict[str, Any]) -> None:
    layout = read_layout(**sheet)
    sequence = steps(layout.sheet, kerf=layout.kerf)
    made = sum(times * setting.cuts for setting, times in all_settings(sequence))
    assert made == cuts_in(layout.sheet)
    assert settings(sequence) >= (1 if made else 0)


def cuts_in(piece: Sawn) -> int:
    if piece.cut is None:
        return 0
    takes_last = piece.left > 0 and piece.of[-1].kind in ("part", "blank", "cut")
    return len(piece.of) - 1 + takes_last + sum(cuts_in(child) for child in piece.of)


@given(sawn_sheets())
def test_a_mark_is_made_before_it_is_sawn(sheet: dict[str, Any]) -> None:
    layout = read_layout(**sheet)
    seen: set[str] = {""}
    for step in steps(layout.sheet, kerf=layout.kerf, least_to_rip=inches(4), least_to_crosscut=inches(4)):
        assert step.mark in seen
        for setting, _ in all_settings([step]):
            seen |= {outcome.mark for outcome in setting.outcomes}


@given(sawn_sheets())
def test_the_words_name_every_part(sheet: dict[str, Any]) -> None:
    layout = read_layout(**sheet)
    lines = in_words(steps(layout.sheet, kerf=layout.kerf), {})
    named = {segment.text for line in lines for segment in line.segments if isinstance(segment, Name)}
    assert named == {piece.key for piece in layout.placed() if piece.kind == "part"}
