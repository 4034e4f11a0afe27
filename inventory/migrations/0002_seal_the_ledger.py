"""Triggers that refuse to change or delete a movement.

SQLite drops a table's triggers when a later migration rebuilds the table: a migration that alters Movement runs
`seal` again afterwards (a test sees to it).
"""

from django.db import migrations

SENTENCE = "No movement is changed or deleted. Undo it by a movement that says so."

SQLITE = [
    f"""CREATE TRIGGER movement_is_never_changed BEFORE UPDATE ON inventory_movement
        BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END""",
    f"""CREATE TRIGGER movement_is_never_deleted BEFORE DELETE ON inventory_movement
        BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END""",
]
POSTGRESQL = [
    f"""CREATE FUNCTION inventory_movement_is_sealed() RETURNS trigger AS $$
        BEGIN RAISE EXCEPTION '{SENTENCE}' USING ERRCODE = 'integrity_constraint_violation'; END
        $$ LANGUAGE plpgsql""",
    """CREATE TRIGGER movement_is_sealed BEFORE UPDATE OR DELETE ON inventory_movement
        FOR EACH ROW EXECUTE FUNCTION inventory_movement_is_sealed()""",
]


def seal(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


def unseal(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute("DROP TRIGGER IF EXISTS movement_is_never_changed")
        schema_editor.execute("DROP TRIGGER IF EXISTS movement_is_never_deleted")
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS movement_is_sealed ON inventory_movement")
        schema_editor.execute("DROP FUNCTION IF EXISTS inventory_movement_is_sealed()")


class Migration(migrations.Migration):
    dependencies = [("inventory", "0001_initial")]
    operations = [migrations.RunPython(seal, unseal)]
