"""Edging: as lists write it, what it takes off the panel, and the strips that are sawn for it."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from inventory.builtin import quarters
from jobs import edging, facing
from jobs.edging import EDGES, NotEdging, parse_edging
from jobs.models import Part
from jobs.partslist.preview import preview
from jobs.partslist.reading import read_paste
from jobs.partslist.saving import PartLine, change_part, save_parts
from jobs.sizing import quarter_note, sawn_note, thinnest_quarter
from shared.measure import inches
from shared.models import Shop
from shared.shop import the_shop
from tests.factories import make_job, make_material, make_person


@pytest.mark.parametrize(
    ("text", "edges"),
    [
        ("front", "L1"),
        ("Front and back", "L1 L2"),
        ("all", "L1 L2 W1 W2"),
        ("All four edges", "L1 L2 W1 W2"),
        ("4 edges", "L1 L2 W1 W2"),
        ("2L", "L1 L2"),
        ("1L1W", "L1 W1"),
        ("L1 W1", "L1 W1"),
        ("2 long 1 short", "L1 L2 W1"),
        ("both ends", "W1 W2"),
        ("1 long", "L1"),
        ("left, right", "W1 W2"),
        ("none", ""),
        ("", ""),
    ],
)
def test_edges_are_read_as_lists_write_them(text, edges):
    assert parse_edging(text, "in").text == edges


def test_a_strip_thickness_its_wood_and_the_size_without_it_are_read_with_the_edges():
    read = parse_edging("2 long, 3/8 white oak, added", "in")
    assert (read.text, read.thickness, read.material_text, read.is_extra) == (
        "L1 L2",
        inches("3/8"),
        "white oak",
        True,
    )
    assert parse_edging("all 5/4 ash", "in").material_text == "5/4 ash"


@pytest.mark.parametrize("text", ["PVC", "3 long", "L3", "front 1/4 3/8", "@", "front 1/0", "2 long 2 long"])
def test_what_is_no_edging_says_what_would_do(text):
    with pytest.raises(NotEdging, match="Write"):
        parse_edging(text, "in")


@given(st.text(max_size=60))
def test_any_text_is_edging_or_a_sentence(text):
    try:
        read = parse_edging(text, "mm")
    except NotEdging:
        return
    assert set(read.edges) <= set(EDGES)


edges = st.sets(st.sampled_from(EDGES)).map(lambda some: tuple(edge for edge in EDGES if edge in some))
sizes = st.integers(inches(4), inches(96))
strips = st.integers(1, inches(1))


@given(edges)
def test_edges_read_back_as_they_are_kept(some):
    assert parse_edging(" ".join(some), "in").edges == some


@given(sizes, sizes, edges, strips)
def test_panel_and_strips_make_the_finished_size_again(length, width, some, strip):
    cut_length, cut_width = edging.without_strips(length, width, some, strip)
    assert cut_length + strip * sum(edge in ("W1", "W2") for edge in some) == length
    assert cut_width + strip * sum(edge in ("L1", "L2") for edge in some) == width


@given(sizes, sizes, edges, strips)
def test_strips_are_as_long_together_as_the_edges_they_face(length, width, some, strip):
    """The long ones over the ends of the short ones: the finished length, and what is between them."""
    panel = edging.without_strips(length, width, some, strip)
    total = sum(long * count for long, count in edging.strip_lengths(*panel, some, strip).values())
    faced = sum(length if edge in ("L1", "L2") else panel[1] for edge in some)
    assert total == faced


@given(st.integers(1, inches(4)))
def test_the_quarter_is_the_thinnest_whose_planed_thickness_is_enough(finished):
    found = thinnest_quarter(finished)
    enough = [quarter for quarter in quarters() if quarter.surfaced_two_sides >= finished]
    assert found == (min(enough, key=lambda quarter: quarter.nominal) if enough else None)


# ---- in a shop ------------------------------------------------------------------------------------------


@pytest.fixture
def job(db):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    make_person()
    return make_job()


@pytest.fixture
def woods(db):
    return {
        "ply": make_material("maple plywood 3/4"),
        "thin": make_material("hard maple 3/4", "lumber", thickness_text="3/4", thickness=inches("5/8")),
        "maple": make_material("hard maple 4/4", "lumber", thickness_text="4/4", thickness=inches(1)),
        "thick": make_material("hard maple 8/4", "lumber", thickness_text="8/4", thickness=inches(2)),
    }


def side(ply, text, **others):
    return PartLine(2, "side", inches("33 1/2"), inches("15 1/2"), ply, edging=text, **others)


def test_strips_are_of_the_thinnest_lumber_that_is_thick_enough(job, woods):
    (part,) = save_parts(job=job, lines=[side(woods["ply"], "2 long hard maple")])
    assert part.strip_material == woods["maple"]
    (strip,) = part.strips.all()
    assert strip.thickness == inches("23/32") + inches("1/16")
    assert (strip.quantity, strip.length, strip.width) == (4, inches("33 1/2"), inches("1/4"))
    assert sawn_note(part, the_shop()) == "cut 33 1/2 × 15: 1/4 in edging on 2 long edges"


def test_without_a_wood_for_its_strips_nothing_is_taken_off_and_it_is_said(job, woods):
    (part,) = save_parts(job=job, lines=[side(woods["ply"], "2 long walnut")])
    assert not part.strips.exists()
    assert sawn_note(part, the_shop()).startswith("cut 33 1/2 × 15 1/2")
    assert "walnut" in facing.fault(part, the_shop())


def test_strips_follow_a_part_that_is_changed_and_go_with_its_edging(job, woods):
    (part,) = save_parts(job=job, lines=[side(woods["ply"], "2 long hard maple")])
    change_part(part=part, line=side(woods["ply"], "front", strip_material=woods["thick"]))
    (strip,) = Part.objects.filter(made_for=part)
    assert (strip.quantity, strip.material) == (2, woods["thick"])
    change_part(part=part, line=side(woods["ply"], ""))
    assert not Part.objects.filter(made_for=part).exists()


def test_a_size_without_its_edging_is_cut_as_listed(job, woods):
    (part,) = save_parts(job=job, lines=[side(woods["ply"], "all hard maple, added")])
    lengths = {strip.faced_edges: strip.length for strip in part.strips.all()}
    assert lengths == {"L1 L2": inches("33 1/2") + 2 * inches("1/4"), "W1 W2": inches("15 1/2")}


def test_edging_that_is_not_understood_is_kept_as_typed_and_said(job, woods, client):
    client.force_login(make_person())
    (part,) = save_parts(job=job, lines=[side(woods["ply"], "see drawing")])
    assert part.edging == "see drawing"
    page = client.get(f"/jobs/{job.number}/parts").content.decode()
    assert "names no edge" in page
    address = f"/jobs/{job.number}/parts/{part.pk}"
    typed = {"quantity": 2, "name": "side", "length": "33 1/2", "width": "15 1/2", "grain": "length"}
    response = client.post(address, {**typed, "material": woods["ply"].pk, "edging": "sea drawing"})
    assert response.status_code == 422
    assert "sea drawing" in response.content.decode()


def test_a_list_goes_out_without_the_strips(job, woods, client):
    client.force_login(make_person())
    save_parts(job=job, lines=[side(woods["ply"], "2 long hard maple")])
    assert "strip" not in client.get(f"/jobs/{job.number}/parts/export.csv").content.decode()


def test_edging_a_list_says_oddly_is_remarked_on_before_it_is_saved(job, woods):
    grid = read_paste(
        "Qty\tPart\tLength\tWidth\tMaterial\tEdging\n1\tside\t30\t12\tmaple plywood 3/4\tsee drawing"
    )
    shown = preview(grid, "in")
    assert shown.is_ready
    assert "names no edge" in shown.rows[0].remark


def test_a_finished_thickness_offers_the_quarter_that_planes_to_it_first(job, woods):
    grid = read_paste("Qty\tPart\tLength\tWidth\tThickness\tMaterial\n4\tleg\t29\t2\t1 3/4\thard maple")
    (asked,) = preview(grid, "in").asked
    assert asked.suggestions[0] == woods["thick"]


def test_lumber_that_planes_too_thin_is_said(job, woods):
    line = PartLine(4, "leg", inches(29), inches(2), woods["maple"], thickness=inches("1 3/4"))
    (leg,) = save_parts(job=job, lines=[line])
    assert quarter_note(leg, the_shop()).startswith("1 3/4 in thick needs 8/4, which planes to 1 3/4 in")


def test_the_list_asks_no_more_of_the_database_for_thirty_parts_than_for_three(
    job, woods, client, django_assert_max_num_queries
):
    client.force_login(make_person())
    address = f"/jobs/{job.number}/parts"
    save_parts(job=job, lines=[side(woods["ply"], "2 long hard maple")] * 3)
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    save_parts(job=job, lines=[side(woods["ply"], "2 long hard maple")] * 27)
    with django_assert_max_num_queries(len(few)):
        client.get(address)


def test_a_strips_label_leads_to_the_list_it_stands_below(job, woods, client):
    client.force_login(make_person())
    (part,) = save_parts(job=job, lines=[side(woods["ply"], "2 long hard maple")])
    strip = part.strips.get()
    assert client.get(f"/jobs/{job.number}/parts/{strip.pk}").status_code == 302
