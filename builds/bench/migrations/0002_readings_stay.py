"""Readings are only ever added: the database refuses to change what was measured, or to remove it."""

from django.db import migrations

WORDS = "readings are only ever added"
FACTS = ("build_id", "check_id", "attempt", "typed", "value", "over_range", "outcome", "at")


def guard(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    changed = " OR ".join(f"NEW.{c} {differs} OLD.{c}" for c in FACTS)
    if vendor == "postgresql":
        schema_editor.execute(
            f"CREATE FUNCTION readings_stay() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {changed} THEN "
            f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
            params=None,
        )
        schema_editor.execute(
            "CREATE TRIGGER readings_stay BEFORE UPDATE ON bench_reading FOR EACH ROW EXECUTE FUNCTION readings_stay()",
            params=None,
        )
    else:
        schema_editor.execute(
            f"CREATE TRIGGER readings_stay BEFORE UPDATE ON bench_reading WHEN {changed} "
            f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
            params=None,
        )


def unguard(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS readings_stay() CASCADE", params=None)
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS readings_stay", params=None)


class Migration(migrations.Migration):
    dependencies = [("bench", "0001_initial")]
    operations = [migrations.RunPython(guard, unguard)]
