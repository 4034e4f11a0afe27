"""The woods that come with the program, each with its source."""

from django.db import migrations

from inventory import builtin

COLUMNS = [
    "botanical_name",
    "specific_gravity",
    "shrinkage_radial_pct",
    "shrinkage_tangential_pct",
    "movement_radial",
    "movement_tangential",
    "density_kg_m3",
    "source",
    "basis",
]


def add_species(apps, schema_editor):
    species = apps.get_model("inventory", "Species")
    for wood in builtin.species():
        species.objects.get_or_create(
            name=wood.name, defaults={column: getattr(wood, column) for column in COLUMNS}
        )


def remove_species(apps, schema_editor):
    """What a material is of stays: the shop said so, not the program."""
    species = apps.get_model("inventory", "Species")
    names = [wood.name for wood in builtin.species()]
    species.objects.filter(name__in=names, material__isnull=True).exclude(source="").delete()


class Migration(migrations.Migration):
    dependencies = [("inventory", "0002_seal_the_ledger")]
    operations = [migrations.RunPython(add_species, remove_species)]
