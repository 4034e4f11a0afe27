"""Closed periods, kept by triggers, and the names of accounts."""

import django.db.models.deletion
import shared.fields
from django.conf import settings
from django.db import migrations, models


SENTENCE = "The books are closed for this day. What has to be corrected is dated today."
KEPT = "A closed period stays as it was closed."

SQLITE = [
    f"""CREATE TRIGGER movement_is_in_an_open_period BEFORE INSERT ON inventory_movement
        WHEN EXISTS (SELECT 1 FROM inventory_closedperiod WHERE ends_at > NEW.at)
        BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END""",
    f"""CREATE TRIGGER closed_period_is_never_changed BEFORE UPDATE ON inventory_closedperiod
        BEGIN SELECT RAISE(ABORT, '{KEPT}'); END""",
    f"""CREATE TRIGGER closed_period_is_never_deleted BEFORE DELETE ON inventory_closedperiod
        BEGIN SELECT RAISE(ABORT, '{KEPT}'); END""",
]
POSTGRESQL = [
    f"""CREATE FUNCTION inventory_movement_in_open_period() RETURNS trigger AS $$
        BEGIN
            IF EXISTS (SELECT 1 FROM inventory_closedperiod WHERE ends_at > NEW.at) THEN
                RAISE EXCEPTION '{SENTENCE}' USING ERRCODE = 'integrity_constraint_violation';
            END IF;
            RETURN NEW;
        END $$ LANGUAGE plpgsql""",
    """CREATE TRIGGER movement_is_in_an_open_period BEFORE INSERT ON inventory_movement
        FOR EACH ROW EXECUTE FUNCTION inventory_movement_in_open_period()""",
    f"""CREATE FUNCTION inventory_closedperiod_is_kept() RETURNS trigger AS $$
        BEGIN RAISE EXCEPTION '{KEPT}' USING ERRCODE = 'integrity_constraint_violation'; END
        $$ LANGUAGE plpgsql""",
    """CREATE TRIGGER closed_period_is_kept BEFORE UPDATE OR DELETE ON inventory_closedperiod
        FOR EACH ROW EXECUTE FUNCTION inventory_closedperiod_is_kept()""",
]


def close(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


def reopen(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for name in ("movement_is_in_an_open_period", "closed_period_is_never_changed", "closed_period_is_never_deleted"):
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}")
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS movement_is_in_an_open_period ON inventory_movement")
        schema_editor.execute("DROP TRIGGER IF EXISTS closed_period_is_kept ON inventory_closedperiod")
        schema_editor.execute("DROP FUNCTION IF EXISTS inventory_movement_in_open_period()")
        schema_editor.execute("DROP FUNCTION IF EXISTS inventory_closedperiod_is_kept()")


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0005_goods_at_the_average'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='AccountName',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sort', models.CharField(choices=[('stock', 'material in stock'), ('supplier', 'received from suppliers'), ('shop', 'was in the shop already'), ('job', 'used on jobs'), ('written off', 'written off'), ('sold', 'sold as it is')], max_length=12, unique=True)),
                ('name', models.CharField(max_length=60)),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='account_has_a_name', violation_error_message='An account needs a name or a number.')],
            },
        ),
        migrations.CreateModel(
            name='ClosedPeriod',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('last_day', models.DateField(error_messages={'unique': 'The books are closed up to this day already.'}, unique=True)),
                ('ends_at', models.DateTimeField()),
                ('received', shared.fields.MoneyField()),
                ('charged', shared.fields.MoneyField()),
                ('written_off', shared.fields.MoneyField()),
                ('sold', shared.fields.MoneyField()),
                ('closed_at', models.DateTimeField(auto_now_add=True)),
                ('closed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-last_day'],
            },
        ),
        migrations.RunPython(close, reopen),
    ]
