"""Pieces that are there already: what was received knows its line, offcuts take it from what they were left from."""

from django.db import migrations
from django.db.models import F, OuterRef, Subquery


def fill(apps, schema_editor):
    pieces = apps.get_model("inventory", "Piece").objects
    pieces.filter(receipt_line__isnull=False, bought_on=None).update(bought_on=F("receipt_line"))
    parent = pieces.filter(pk=OuterRef("parent")).values("bought_on")[:1]
    offcuts = pieces.filter(bought_on=None, parent__bought_on__isnull=False)
    while offcuts.update(bought_on=Subquery(parent)):  # a generation of offcuts each time
        pass


class Migration(migrations.Migration):
    dependencies = [("inventory", "0008_bought_on")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
