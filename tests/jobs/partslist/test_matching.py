"""Which of the shop's materials a list means; what is not sure is asked."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.partslist.matching import Candidate, Match, match, remembered_as
from shared.measure import inches, mm

OAK_PLY, OAK_PLY_THIN, OAK_PLY_MDF, BIRCH_PLY, BALTIC, ASH_4, ASH_5, OAK_4, MDF, GLUE = range(1, 11)

SHOP = [
    Candidate(OAK_PLY, "White oak plywood 3/4", "sheet", "White oak", "veneer core", "3/4"),
    Candidate(OAK_PLY_THIN, "White oak plywood 1/4", "sheet", "White oak", "veneer core", "1/4"),
    Candidate(BIRCH_PLY, "Birch plywood 18 mm", "sheet", "Yellow birch", "veneer core", "18 mm"),
    Candidate(BALTIC, "Baltic birch 1/2", "sheet", "Birch", "birch", "1/2"),
    Candidate(ASH_4, "Ash 4/4", "lumber", "White ash", "", "4/4"),
    Candidate(ASH_5, "Ash 5/4", "lumber", "White ash", "", "5/4"),
    Candidate(OAK_4, "White oak 4/4", "lumber", "White oak", "", "4/4"),
    Candidate(MDF, "MDF 3/4", "sheet", "", "MDF", "3/4"),
    Candidate(GLUE, "Ash glue", "goods"),
]


def with_other_name(number: int, name: str) -> list[Candidate]:
    """The shop, in which one material was answered for a name before."""
    return [
        Candidate(**{**{slot: getattr(known, slot) for slot in Candidate.__slots__}, "other_names": (name,)})
        if known.id == number
        else known
        for known in SHOP
    ]


@pytest.mark.parametrize(
    ("text", "thickness", "taken"),
    [
        ("White oak plywood 3/4", None, OAK_PLY),
        ("white OAK  plywood, 3/4", inches("3/4"), OAK_PLY),
        ("White oak plywood", inches("1/4"), OAK_PLY_THIN),
        ("white oak ply", inches("3/4"), OAK_PLY),
        ("3/4 white oak ply", None, OAK_PLY),
        ("White oak ply 0.75", None, OAK_PLY),
        ("¾″ white oak pw", None, OAK_PLY),
        ("oak ply white, 3/4 in thick", None, OAK_PLY),
        ("white oak plywood, veneer core, 3/4", None, OAK_PLY),
        ("birch ply 18mm", None, BIRCH_PLY),
        ("birch plywood", mm(18), BIRCH_PLY),
        ("mdf", mm("19.05"), MDF),
        ("5/4 ash", None, ASH_5),
        ("Ash 5/4", inches(1), ASH_5),
        ("white ash 4/4", inches("3/4"), ASH_4),
    ],
)
def test_a_name_that_can_mean_only_one_is_taken(text, thickness, taken):
    assert match(text, thickness, SHOP).taken == taken


@pytest.mark.parametrize(
    ("text", "thickness", "first"),
    [
        ("white oak plywood", None, OAK_PLY),  # of which thickness?
        ("white oak plywood", mm(19), OAK_PLY),  # nearly 3/4, but not the same
        ("white oak plywood 3/4", inches("1/4"), OAK_PLY),  # says two thicknesses
        ("oak ply", inches("3/4"), OAK_PLY),  # red oak, perhaps
        ("whtie oak plywod", inches("3/4"), OAK_PLY),
        ("birch", inches("1/2"), BALTIC),
        ("birch ply 3/4", None, BIRCH_PLY),
        ("MDF", None, MDF),
        ("ash", inches("3/4"), ASH_4),  # lumber is thicker than the part made of it
        ("ash", inches("1 1/8"), ASH_5),
        ("ash 1 in", None, ASH_5),  # planed to an inch it is no 4/4
        ("white oak", inches("3/4"), OAK_4),
    ],
)
def test_a_name_that_is_not_sure_is_asked_with_the_likeliest_first(text, thickness, first):
    found = match(text, thickness, SHOP)
    assert found.taken is None
    assert found.suggestions[0] == first


@pytest.mark.parametrize("text", ["", "  ", "teak", "???", "glue"])
def test_a_name_like_none_is_no_match(text):
    assert match(text, None, SHOP) == Match()


def test_two_materials_that_fit_as_well_are_asked():
    shop = [
        *SHOP,
        Candidate(OAK_PLY_MDF, "White oak plywood 3/4 MDF core", "sheet", "White oak", "MDF", "3/4"),
    ]
    assert match("White oak plywood 3/4", None, shop).taken == OAK_PLY
    found = match("oak white ply 3/4", None, shop)
    assert found.taken is None
    assert set(found.suggestions[:2]) == {OAK_PLY, OAK_PLY_MDF}


def test_a_thickness_alone_is_asked_among_what_is_as_thick():
    assert set(match("3/4", None, SHOP).suggestions) == {OAK_PLY, MDF}


def test_goods_are_never_what_a_part_is_made_of():
    assert match("Ash glue", None, SHOP).taken is None
    assert GLUE not in match("Ash glue", None, SHOP).suggestions


def test_bare_whole_numbers_are_millimetres_in_a_metric_shop_only():
    assert match("birch plywood 18", None, SHOP, "mm").taken == BIRCH_PLY
    assert match("birch plywood 18", None, SHOP, "in").taken is None


# ---- remembered names -------------------------------------------------------------------------------------


def test_a_name_of_the_shop_s_own_is_taken():
    found = match("cabinet-grade  WO", None, with_other_name(OAK_PLY, "Cabinet grade WO"))
    assert (found.taken, found.by) == (OAK_PLY, "remembered")


def test_a_remembered_name_is_not_taken_for_another_thickness():
    assert match("WO", inches("1/4"), with_other_name(OAK_PLY, "WO")).taken is None


@pytest.mark.parametrize(
    ("text", "thickness", "answer"),
    [
        ("WO ply", inches("3/4"), OAK_PLY),
        ("WO ply", mm(19), OAK_PLY),
        ("WO ply", None, OAK_PLY),
        ("ash", inches("3/4"), ASH_4),
        ("ash 1 in", inches("3/4"), ASH_5),
        ("???", None, MDF),
        ("white oak plywood", None, OAK_PLY),
        ("birch ply 3/4", mm(18), BIRCH_PLY),
    ],
)
def test_what_was_answered_once_is_not_asked_again(text, thickness, answer):
    assert match(text, thickness, SHOP).taken is None
    shop = with_other_name(answer, remembered_as(text, thickness))
    assert match(text, thickness, shop) == Match(taken=answer, by="remembered")
    assert match(text, (thickness or 0) + mm(3), shop).taken is None


SAID = ["white", "oak", "ply", "3/4", "5/4", "ash", "18", "mm", "x", "(1/2", "birch", "mdf)", "½"]


@given(
    text=st.lists(st.sampled_from(SAID), min_size=1).map(" ".join) | st.text(min_size=1, max_size=80),
    thickness=st.none() | st.integers(1, inches(4)),
    unit=st.sampled_from(["in", "mm"]),
)
@settings(deadline=None)
def test_whatever_was_answered_is_found_again(text, thickness, unit):
    found = match(text, thickness, SHOP, unit)
    assert found.taken is None or found.suggestions == ()
    if found.taken is None and text.strip():
        shop = with_other_name(MDF, remembered_as(text, thickness, unit))
        assert match(text, thickness, shop, unit) == Match(taken=MDF, by="remembered")
