"""How much finish a job needs, on its page and on the buy list; wood facts beside it."""

from decimal import Decimal

import pytest

from inventory.models import Species
from jobs import woodfacts
from jobs.finishing import Coating, Surfaces, area_m2, estimate
from shared.measure import inches, weight_kg
from shared.models import Shop
from tests.factories import make_job, make_material, make_part, make_person

pytestmark = pytest.mark.django_db

TYPED = {"coats": "3", "film": "1", "solids": "35", "transfer": "90", "faces": "2", "edges": "on"}


@pytest.fixture
def owner(client):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    person = make_person()
    client.force_login(person)
    return person


@pytest.fixture
def job(owner):
    made = make_job()
    ply = make_material("maple plywood 3/4", thickness=inches("3/4"))
    make_part(made, ply, length="48", width="24", quantity=2)
    return made


def test_both_faces_and_all_edges_are_counted(job):
    # 2 × (2 × 48 × 24 + 2 × 72 × 3/4) sq in, and a square inch is 0.00064516 m²
    area = area_m2(job.parts.all(), Surfaces(2, True))
    assert area == Decimal(2 * (2 * 48 * 24 + 2 * 72 * 3 // 4)) * Decimal("0.00064516")
    assert area_m2(job.parts.all(), Surfaces(0, False)) == 0


def test_an_estimate_is_in_the_unit_the_finish_is_counted_in(job):
    coating = Coating(1, Decimal("25.4"), Decimal(1), Decimal(1))
    found = estimate(job, coating, Surfaces(2, False), "gallon")
    # 32 sq ft at 1604.17 sq ft a gallon and mil
    assert round(found.quantity, 5) == round(Decimal(32) / Decimal("1604.1667"), 5)
    assert estimate(job, coating, Surfaces(), "pair").quantity is None


def test_the_page_estimates_and_puts_it_on_the_buy_list(job, client):
    oil = make_material("hardwax oil", "goods", unit="quart", is_counted_whole=True)
    page = client.get(f"/jobs/{job.number}/finishing", {**TYPED, "material": oil.pk}).content.decode()
    assert "quart" in page
    assert "sq ft a gallon" in page
    client.post(f"/jobs/{job.number}/finishing", {**TYPED, "material": oil.pk})
    line = job.buy_lines.get()
    assert (line.material, line.quantity, line.unit) == (oil, Decimal(1), "quart")


def test_a_share_above_all_comes_back_as_typed(job, client):
    response = client.get(f"/jobs/{job.number}/finishing", {**TYPED, "solids": "350"})
    assert response.status_code == 422
    assert "350" in response.content.decode()
    assert not job.buy_lines.exists()


def test_a_finish_counted_by_the_pair_is_refused(job, client):
    odd = make_material("gloves", "goods", unit="pair")
    assert client.post(f"/jobs/{job.number}/finishing", {**TYPED, "material": odd.pk}).status_code != 302
    assert not job.buy_lines.exists()


def test_a_solid_door_says_how_it_moves(owner, client):
    ash = Species.objects.get(name="Ash, white")
    lumber = make_material("white ash 5/4", "lumber", species=ash)
    job = make_job()
    door = make_part(job, lumber, name="door", length="24", width="14")
    page = client.get(f"/jobs/{job.number}/parts/{door.pk}").content.decode()
    assert "With the seasons" in page
    assert "equation 13-2" in page
    moved = woodfacts.seasonal_movement(door)
    assert moved.moves.flat_sawn == round(inches(14) * ash.movement_tangential * 4)
    page = client.get(f"/jobs/{job.number}/parts/{door.pk}", {"dry": "4", "damp": "11"})
    assert page.status_code == 200


def test_a_job_weighs_what_its_parts_do(job, client):
    sheet = job.parts.get().material
    expected = 2 * weight_kg(inches(48), inches(24), inches("3/4"), sheet.density)
    assert woodfacts.weight_of(job).kg == expected
    make_part(job, make_material("mystery board", density_kg_m3=None))
    assert woodfacts.weight_of(job).unknown == 1
    assert "Finished it weighs about" in client.get(f"/jobs/{job.number}").content.decode()
