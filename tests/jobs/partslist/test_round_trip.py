"""A saved list goes out as a file and comes back, into another job, as the same list: strips and sets with it."""

import random

import pytest

from jobs import matching_sets
from jobs.models import Part
from jobs.partslist import writing
from jobs.partslist.preview import as_rows, preview
from jobs.partslist.reading import read_file
from jobs.partslist.saving import PartLine, save_parts
from jobs.partslist.workbook_process import read as read_in_this_process
from shared.measure import inches, mm
from shared.shop import the_shop
from tests.factories import make_job, make_material

pytestmark = pytest.mark.django_db

SAME = [
    *("quantity", "name", "length", "width", "material_id", "grain", "edging", "faced_edges", "note"),
    *("strip_material_id", "strip_thickness", "edging_in_size", "match_set", "thickness", "may_be_glued"),
]


@pytest.fixture
def woods():
    lumber = {"thickness": inches(1), "thickness_text": "4/4"}
    return {
        "sheets": [make_material("maple plywood 3/4"), make_material("birch ply 18 mm", thickness=mm(18))],
        "lumber": [make_material(f"{name} 4/4", "lumber", **lumber) for name in ("ash", "hard maple")]
        + [make_material("ash 8/4", "lumber", thickness_text="8/4", thickness=inches(2))],
    }


def a_list(rng, woods):
    """Parts with all that a list can say, at random."""
    return [_a_part(rng, woods, number) for number in range(rng.randint(1, 12))]


def _a_part(rng, woods, number):
    is_solid = rng.random() < 0.5
    material = rng.choice(woods["lumber" if is_solid else "sheets"])
    others = [one for one in woods["sheets"] + woods["lumber"] if one != material]
    has_edging = not is_solid and rng.random() < 0.6
    return PartLine(
        quantity=rng.randint(1, 5),
        name=f"part {number}",
        length=rng.choice([inches(rng.randint(200, 700)) // 8, mm(rng.randint(400, 900))]),
        width=inches(rng.randint(40, 190)) // 8,
        material=material,
        grain=rng.choice(Part.Grain.values),
        also=tuple(rng.sample(others, rng.randint(0, 2))),
        edging=rng.choice(["front", "all, 1/4 ash", "L1 W1, added", "2 long 1 short, 6 mm hard maple"])
        if has_edging
        else "",
        strip_material=rng.choice([None, *woods["lumber"]]) if has_edging else None,
        match_set=rng.choice(["", "", "fronts", "doors"]),
        thickness=rng.choice([None, inches("13/16"), inches("3/4"), mm(19)]) if is_solid else None,
        may_be_glued=is_solid and rng.random() < 0.5,
        note=rng.choice(["", "back edge shows", "=not a formula"]),
    )


def listed(job):
    return [
        {name: getattr(part, name) for name in SAME}
        | {"also": [one.pk for one in part.also.order_by("pk")], "strips": _strips(part)}
        for part in job.parts.listed().order_by("position")
    ]


def _strips(part):
    rows = part.strips.order_by("name").values_list("quantity", "length", "width", "material")
    return list(rows)


def came_back(job, kind):
    shop = the_shop()
    data = getattr(writing, f"to_{kind}")(as_rows(job.parts.listed().with_materials(), shop), shop.unit)
    grid = read_in_this_process(data, "") if kind == "xlsx" else read_file("list.csv", data)
    shown = preview(grid, shop.unit)
    assert shown.is_ready, [one.text for one in shown.open_questions]
    again = make_job()
    save_parts(job=again, lines=shown.lines())
    return again


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
@pytest.mark.parametrize("seed", range(10))
def test_an_exported_list_brings_everything_back(seed, kind, owner, woods):
    job = make_job()
    save_parts(job=job, lines=a_list(random.Random(seed), woods))
    again = came_back(job, kind)
    wanted = listed(job)
    for row, part in zip(wanted, job.parts.listed().order_by("position"), strict=True):
        _as_it_is_written(row, part)
    assert listed(again) == wanted
    assert _glued(again) == _glued(job)


def _as_it_is_written(row, part):
    """What the list says of a set it says of each of its parts, and a wood chosen by hand stands in the text."""
    if part.match_set in _glued(part.job):
        row["may_be_glued"] = True
    row["edging"] = as_rows([part], the_shop())[0].edging


def _glued(job):
    return set(job.match_sets.filter(may_be_glued=True).values_list("name", flat=True))


def test_a_set_that_the_list_may_glue_up_is_glued_up(owner, woods):
    job = make_job()
    front = {"material": woods["lumber"][0], "match_set": "fronts", "may_be_glued": True}
    save_parts(job=job, lines=[PartLine(3, "front", inches(20), inches(14), **front)])
    (fronts,) = matching_sets.sets_of(job)
    assert fronts.row.may_be_glued


@pytest.mark.parametrize("said", ["perhaps", "2"])
def test_glue_up_that_is_neither_yes_nor_no_is_named(said, owner, woods):
    grid = read_file("list.csv", f"Part,Length,Width,Material,Glue-up\nlid,30,14,ash 4/4,{said}".encode())
    (error,) = preview(grid, "in").read.errors
    assert (
        error.sentence == f'Row 2, glue-up: "{said}" says neither yes nor no. Write yes, or leave it empty.'
    )
