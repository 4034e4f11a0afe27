from decimal import Decimal
from typing import Any

from jobs.cautions import DEFER, Caution, Handled, SawSettings, cautions_for
from jobs.diagrams.geometry import read_layout
from shared.measure import inches, mm
from tests.jobs.layouts import BENCH, BENCH_NAMES


def make_handled(tree: Any = BENCH, length: str = "96", width: str = "48", **others: Any) -> Handled:
    layout = read_layout(
        tree, length=inches(length), width=inches(width), kerf=inches("1/8"), unit="in", names=BENCH_NAMES
    )
    return Handled("Sheet K7M-2Q4", layout, **others)


def about(topic: str, handled: Handled, saw: SawSettings | None = None) -> list[Caution]:
    return [
        caution for caution in cautions_for([handled], saw or SawSettings(), "in") if caution.topic == topic
    ]


def strip(width: str, rest: str) -> dict[str, Any]:
    return {"cut": "rip", "of": [{"size": width, "part": "side"}, {"size": rest, "offcut": True}]}


def test_a_strip_under_the_shops_own_least_is_pointed_out() -> None:
    (caution,) = about("strip", make_handled(strip("2 1/2", "45 3/8")), SawSettings(least_strip=inches(3)))
    assert caution.where == "Sheet K7M-2Q4: Case side"
    assert caution.text.startswith("2 1/2 in wide is under 3 in (the shop's least strip).")
    assert "1910.213(s)" in caution.source
    assert about("strip", make_handled(strip("3", "44 7/8")), SawSettings(least_strip=inches(3))) == []


def test_without_a_setting_the_least_strip_is_said_to_be_common_practice() -> None:
    (caution,) = about("strip", make_handled(strip("1 1/2", "46 3/8")))
    assert "(common practice)" in caution.text
    assert "common practice, no source" in caution.source
    assert about("strip", make_handled(strip("2", "45 7/8"))) == []


def test_a_narrow_strip_of_waste_needs_no_caution() -> None:
    tree = {"cut": "rip", "of": [{"size": "1", "waste": True}, {"size": "46 7/8", "part": "side"}]}
    assert about("strip", make_handled(tree)) == []


def test_a_rip_on_a_short_piece_is_pointed_out() -> None:
    piece = {
        "size": "8",
        "cut": "rip",
        "of": [{"size": "5", "part": "top"}, {"size": "42 7/8", "waste": True}],
    }
    (rip,) = about(
        "short", make_handled({"cut": "crosscut", "of": [piece, {"size": "87 7/8", "offcut": True}]})
    )
    assert "only 8 in long" in rip.text
    assert rip.parts == "Bench top"


def test_a_crosscut_too_short_to_hold_is_pointed_out() -> None:
    tree = {"cut": "crosscut", "of": [{"size": "4", "part": "shelf"}, {"size": "85 7/8", "offcut": True}]}
    (crosscut,) = about("short", make_handled(tree, "90", "6"))
    assert crosscut.text.startswith("Crosscuts to 4 in are too short to hold by hand.")
    assert crosscut.parts == "Shelf"


def test_a_slim_crosscut_over_a_wide_sheet_is_a_narrow_strip_and_no_short_piece() -> None:
    tree = {"cut": "crosscut", "of": [{"size": "1", "part": "shelf"}, {"size": "94 7/8", "offcut": True}]}
    assert about("short", make_handled(tree)) == []
    (strip,) = about("strip", make_handled(tree))
    assert strip.text.startswith("1 in wide is under 2 in")


def test_a_sheet_too_heavy_for_one_says_its_weight() -> None:
    # 3/4 MDF, 4 × 8 feet at 750 kg/m³ weighs 93.6 lb (published densities times volume).
    (caution,) = about("weight", make_handled(thickness=inches("3/4"), density=Decimal(750)))
    assert (caution.level, caution.layout) == ("careful", 0)
    assert caution.text.startswith("Two to carry: 94 lb. 51 lb is the most for one")
    assert "NIOSH 94-110" in caution.source


def test_a_sheet_under_the_limit_may_still_be_heavy_held_away_from_the_body() -> None:
    # 1/2 hardwood plywood, 4 × 8 feet at 560 kg/m³: 46.6 lb, under 51 but over 34.
    (caution,) = about("weight", make_handled(thickness=inches("1/2"), density=Decimal(560)))
    assert caution.level == "note"
    assert caution.text.startswith("Heavy for one: 47 lb. 34 lb is the most")


def test_a_weight_that_is_not_known_is_not_guessed() -> None:
    assert about("weight", make_handled(thickness=inches("3/4"))) == []


def test_cuts_beyond_the_saw_are_pointed_out() -> None:
    saw = SawSettings(longest_rip=inches(60), widest_crosscut=inches(18))
    rip, crosscut = about("reach", make_handled(), saw)
    assert rip.text.startswith("A rip of 96 in is more than the saw's longest rip, 60 in.")
    assert crosscut.text.startswith("A crosscut of 18 1/2 in is more than")


def test_the_formaldehyde_class_is_said_once_for_all_sheets_of_it() -> None:
    sheet = make_handled(core="veneer core", formaldehyde="TSCA Title VI")
    said = [
        caution
        for caution in cautions_for([sheet, sheet], SawSettings(), "in")
        if caution.topic == "formaldehyde"
    ]
    assert [caution.text for caution in said] == [
        "Formaldehyde class: TSCA Title VI. The US limit for such a panel is 0.05 ppm."
    ]
    assert said[0].layout is None


def test_a_class_that_nobody_noted_is_not_made_up() -> None:
    (caution,) = about("formaldehyde", make_handled(core="balsa"))
    assert caution.text == "Formaldehyde class not noted: read the panel's label."


def test_boards_have_no_formaldehyde_class() -> None:
    assert about("formaldehyde", make_handled(is_panel=False)) == []


def test_dust_is_spoken_of_once_and_only_where_something_is_cut() -> None:
    cautions = cautions_for([make_handled(), make_handled()], SawSettings(), "in")
    assert [caution.topic for caution in cautions].count("dust") == 1
    assert about("dust", make_handled({"part": "top"})) == []


def test_metric_shops_read_metric_numbers() -> None:
    tree = {"cut": "rip", "of": [{"size": "45", "part": "rail"}, {"size": "1171.8", "offcut": True}]}
    layout = read_layout(tree, length=mm(2440), width=mm(1220), kerf=mm("3.2"), unit="mm")
    cautions = cautions_for(
        [Handled("Sheet", layout, thickness=mm(18), density=Decimal(650))], SawSettings(), "mm"
    )
    texts = {caution.topic: caution.text for caution in cautions}
    assert texts["strip"].startswith("45 mm wide is under 50 mm")
    assert texts["weight"].startswith("Two to carry: 35 kg. 23 kg is the most for one")


def test_the_tool_defers_to_the_saws_manual_local_rules_and_trained_judgement() -> None:
    assert all(words in DEFER for words in ("saw's manual", "local rules", "trained judgement"))
