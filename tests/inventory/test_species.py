"""The woods that come with the program."""

import csv
from decimal import Decimal
from importlib import import_module
from pathlib import Path

import pytest
from django.apps import apps

from inventory.models import Species
from tests.factories import make_material

pytestmark = pytest.mark.django_db
migration = import_module("inventory.migrations.0003_species")


def test_every_published_wood_is_there_with_its_source_and_basis():
    file = Path(migration.builtin.__file__).parent / "data" / "species.csv"
    with file.open(encoding="utf-8", newline="") as rows:
        published = {(row["name"], row["source"], row["basis"]) for row in csv.DictReader(rows)}
    assert set(Species.objects.values_list("name", "source", "basis")) == published
    assert all(source and basis for _, source, basis in published)


def test_white_oak_has_the_figures_of_the_wood_handbook():
    # Wood Handbook FPL-GTR-190 (2010): table 5-3 (specific gravity), 4-3 (shrinkage), 13-5 (coefficients).
    oak = Species.objects.get(name="Oak, white")
    assert (oak.specific_gravity, oak.shrinkage_radial_pct, oak.shrinkage_tangential_pct) == (
        Decimal("0.68"),
        Decimal("5.6"),
        Decimal("10.5"),
    )
    assert (oak.movement_radial, oak.movement_tangential) == (Decimal("0.00180"), Decimal("0.00365"))


def test_taking_the_woods_back_leaves_what_the_shop_uses_or_added():
    used = Species.objects.get(name="Oak, white")
    make_material(kind="lumber", species=used)
    Species.objects.create(name="Bog oak from the moor")
    migration.remove_species(apps, None)
    assert set(Species.objects.values_list("name", flat=True)) == {"Oak, white", "Bog oak from the moor"}
