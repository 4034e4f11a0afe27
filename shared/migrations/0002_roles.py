"""The three roles, as groups."""

from django.db import migrations

ROLES = ["owner", "buyer", "bench"]


def add_roles(apps, schema_editor):
    group = apps.get_model("auth", "Group")
    for name in ROLES:
        group.objects.get_or_create(name=name)


def remove_roles(apps, schema_editor):
    apps.get_model("auth", "Group").objects.filter(name__in=ROLES).delete()


class Migration(migrations.Migration):
    dependencies = [("shared", "0001_initial"), ("auth", "0012_alter_user_first_name_max_length")]
    operations = [migrations.RunPython(add_roles, remove_roles)]
