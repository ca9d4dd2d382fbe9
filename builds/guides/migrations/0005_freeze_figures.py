"""The figures a revision was issued with are frozen with it, and no figures are ever rewritten."""

from django.db import migrations

WORDS = "the circuit figures of an issued revision are frozen"


def _cases(vendor):
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    yield "guides_circuitfigures", f"NEW.detail {differs} OLD.detail OR NEW.key {differs} OLD.key"
    yield "guides_revision", f"OLD.state IN ('issued', 'withdrawn') AND NEW.figures_id {differs} OLD.figures_id"


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for table, condition in _cases(vendor):
        name = f"freeze_figures_{table}"
        if vendor == "postgresql":
            schema_editor.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {condition} THEN "
                f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
                params=None,
            )
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()", params=None
            )
        else:
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} WHEN {condition} "
                f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
                params=None,
            )


def thaw(apps, schema_editor):
    for table, _condition in _cases(schema_editor.connection.vendor):
        name = f"freeze_figures_{table}"
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP FUNCTION IF EXISTS {name}() CASCADE", params=None)
        else:
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}", params=None)


class Migration(migrations.Migration):
    dependencies = [("guides", "0004_fault_books")]
    operations = [migrations.RunPython(freeze, thaw)]
