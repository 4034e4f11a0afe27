"""Match sets: the order of their parts, on the page, in the plan and in the cut sequence."""

from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.models import Offer
from jobs import gluing_up, layouts, matching_sets, planning
from jobs.cutting.problem import Part, blank_size
from jobs.diagrams import cuts, geometry
from jobs.matching_sets import Arranged, Group, Row, arrangement, settled, tree_of
from jobs.models import MatchSet, Plan
from jobs.trees import leaves_of
from shared.measure import inches, mm
from shared.models import Shop
from shared.refusal import Refused
from tests.factories import make_job, make_material, make_part, make_person, make_sheet, make_supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "planning_seconds": 1})
    person = make_person()
    client.force_login(person)
    return person


@pytest.fixture
def fronts(owner):
    ply = make_material("cherry plywood 3/4")
    Offer.objects.create(
        material=ply,
        supplier=make_supplier(),
        length=inches(96),
        width=inches(48),
        price=Decimal("134.00"),
        per=Offer.Per.SHEET,
        seen_on=date(2026, 11, 1),
    )
    make_sheet(by=owner, material=ply)
    job = make_job()
    make_part(job, ply, name="tall front", length="12", width="20", match_set="fronts", grain="width")
    make_part(job, ply, name="tray front", length="18", width="6 5/8", quantity=3, match_set="fronts")
    return job


def address(job):
    return f"/jobs/{job.number}/sets/fronts"


def typed(job, **others):
    tall, tray = job.parts.order_by("position")
    orders = {f"order_p{tall.pk}-1": "1", f"within_p{tall.pk}-1": ""}
    for number in (1, 2, 3):
        orders |= {f"order_p{tray.pk}-{number}": str(number), f"within_p{tray.pk}-{number}": "A"}
    groups = {f"within_{letter}": "" for letter in "ABCD"} | {f"cut_{letter}": "rip" for letter in "ABCD"}
    return {"cut": "crosscut", **orders, **groups, "order_A": "2", **others}


trees = st.recursive(
    st.just("leaf"),
    lambda inner: st.builds(
        lambda cut, of: {"cut": cut, "of": of},
        st.sampled_from(["rip", "crosscut"]),
        st.lists(inner, min_size=2),
    ),
    max_leaves=12,
).filter(lambda tree: tree != "leaf")


def named(tree, names):
    if isinstance(tree, str):
        return next(names)
    return tree | {"of": [named(child, names) for child in tree["of"]]}


def outcomes_of(setting):
    """What comes off the saw at a setting, and at those that follow at once."""
    for outcome in setting.outcomes:
        yield outcome
        for then in outcome.then:
            yield from outcomes_of(then)


@given(trees)
def test_an_arrangement_typed_as_it_is_shown_changes_nothing(tree):
    tree = named(tree, (f"p{number}-1" for number in range(1, 999)))
    assert tree_of(arrangement(tree)) == tree


@given(trees, st.sets(st.integers(1, 14)))
def test_a_set_settled_over_other_parts_has_each_once_and_keeps_their_order(tree, wanted):
    tree = named(tree, (f"p{number}-1" for number in range(1, 999)))
    names = [f"p{number}-1" for number in sorted(wanted)]
    if len(names) < 2:
        return
    found = leaves_of(settled(tree, names))
    assert sorted(found) == sorted(names)
    before = [name for name in leaves_of(tree) if name in names]
    assert [name for name in found if name in before] == before


def test_groups_within_each_other_are_refused():
    groups = [Group(Row("A", 1, "B"), "rip"), Group(Row("B", 1, "A"), "rip")]
    with pytest.raises(Refused, match="goes round in a circle"):
        tree_of(Arranged("crosscut", [Row("p1-1", 1, "A")], groups))


def test_a_tall_front_stands_beside_a_stack_of_trays(fronts, client):
    response = client.post(address(fronts), typed(fronts))
    assert response.status_code == 302
    tall, tray = fronts.parts.order_by("position")
    stack = {"cut": "rip", "of": [f"p{tray.pk}-{number}" for number in (1, 2, 3)]}
    assert fronts.match_sets.get().tree == {"cut": "crosscut", "of": [f"p{tall.pk}-1", stack]}
    page = client.get(address(fronts)).content.decode()
    assert "tray front 3" in page


def test_a_circle_comes_back_as_typed_with_its_sentence(fronts, client):
    response = client.post(address(fronts), typed(fronts, within_A="B", within_B="A", order_B="1"))
    assert response.status_code == 422
    assert "goes round in a circle" in response.content.decode()
    assert not fronts.match_sets.exists()


def test_a_number_that_is_none_comes_back_as_typed(fronts, client):
    tall = fronts.parts.get(name="tall front")
    response = client.post(address(fronts), typed(fronts, **{f"order_p{tall.pk}-1": "first"}))
    assert response.status_code == 422
    assert "first" in response.content.decode()


def test_a_set_nobody_has_and_who_is_signed_out(fronts, client):
    assert client.get(f"/jobs/{fronts.number}/sets/none").status_code == 404
    client.logout()
    assert client.get(address(fronts)).status_code == 302


def test_the_order_is_kept_on_the_drawing_and_in_the_cut_sequence(fronts, owner):
    tall, tray = fronts.parts.order_by("position")
    stack = {"cut": "rip", "of": [f"p{tray.pk}-{number}" for number in (3, 1, 2)]}
    MatchSet.objects.create(
        job=fronts, name="fronts", tree={"cut": "crosscut", "of": [stack, f"p{tall.pk}-1"]}
    )
    plan = Plan.objects.create(job=fronts, asked_by=owner)
    planning.work_out(plan)
    (layout,) = plan.layouts.all()
    drawn = layouts.read(layout, plan, {})
    placed = {one.key: one for one in drawn.placed() if one.kind == "part"}
    trays = [placed[f"p{tray.pk}-{number}"] for number in (3, 1, 2)]
    assert [one.y - trays[0].y for one in trays] == [n * (inches("6 5/8") + inches("1/8")) for n in range(3)]
    assert placed[f"p{tall.pk}-1"].x == trays[0].x + inches(18) + inches("1/8")
    freed = [
        outcome.piece.key
        for step in cuts.steps_of(drawn)
        for setting in step.settings
        for outcome in outcomes_of(setting)
        if outcome.piece.kind == "part"
    ]
    assert [key for key in freed if "-" in key and key != f"p{tall.pk}-1"] == stack["of"]


@settings(max_examples=25, deadline=None)
@given(trees, st.lists(st.tuples(st.integers(160, 900), st.integers(60, 400)), min_size=12, max_size=12))
def test_any_order_is_kept_on_the_drawing_and_in_the_cut_sequence(tree, sizes):
    """Side by side from left to right, stacked from top to bottom, at every depth; sawn in that order, if
    none is too small to come last off the saw."""
    tree = named(tree, (f"p{number}-1" for number in range(1, 999)))
    wanted = leaves_of(tree)
    rows = [
        {"id": name, "length": str(long), "width": str(wide), "grain": "length"}
        for name, (long, wide) in zip(wanted, sizes, strict=False)
    ]
    problem = {"unit": "mm", "parts": rows, "blanks": [{"id": "set", "tree": tree}]}
    as_parts = {
        row["id"]: Part(row["id"], mm(row["length"]), mm(row["width"]), grain="length") for row in rows
    }
    whole = blank_size(gluing_up.side_of(tree), as_parts, mm(3))
    drawn = geometry.read_layout(
        {"blank": "set"},
        length=whole[0],
        width=whole[1],
        kerf=mm(3),
        unit="mm",
        names={},
        blanks=geometry.blank_trees(problem),
    )
    placed = {one.key: one for one in drawn.placed() if one.kind == "part"}
    assert list(placed) == wanted
    in_order(tree, placed)
    sawn_off: dict[object, list[str]] = {}
    for step in cuts.steps_of(drawn):
        outcomes = [outcome for setting in step.settings for outcome in setting.outcomes]
        freed = [key for outcome in outcomes for key in keys_in(outcome.piece)]
        sawn_off.setdefault(step.piece, []).extend(freed)
    assert all(keys == keys_in(piece) for piece, keys in sawn_off.items())


def keys_in(piece):
    """The parts in a piece as it is sawn, in their order."""
    return [piece.key] if piece.kind == "part" else [key for child in piece.of for key in keys_in(child)]


def in_order(tree, placed):
    """Neighbours within a group, one after the other in the direction it is sawn."""
    if isinstance(tree, str):
        return
    axis = "x" if tree["cut"] == "crosscut" else "y"
    extent = "length" if axis == "x" else "width"
    for before, after in pairwise(tree["of"]):
        ends = max(getattr(placed[name], axis) + getattr(placed[name], extent) for name in leaves_of(before))
        assert min(getattr(placed[name], axis) for name in leaves_of(after)) >= ends + mm(3)
    for child in tree["of"]:
        in_order(child, placed)


def test_the_default_order_is_that_of_the_list(fronts):
    (found,) = matching_sets.sets_of(fronts)
    assert found.tree == {"cut": "crosscut", "of": list(found.names)}
