"""An issued revision is frozen in the database itself, whatever the code above it does."""

from django.db import migrations

# (table, how a row finds its revision)
OF_REVISION = ("guides_point", "guides_part", "guides_stage", "guides_picture")
OF_STAGE = ("guides_step", "guides_check")
WORDS = "this revision is issued and frozen"
HEAD = ("kit_id", "letter", "name", "summary", "mains_volts", "mains_hertz", "taps", "cloned_from_id")


def _revision(table, row):
    own = (
        f"{row}.revision_id"
        if table in OF_REVISION
        else f"(SELECT revision_id FROM guides_stage WHERE id = {row}.stage_id)"
    )
    return f"(SELECT state FROM guides_revision WHERE id = {own}) IN ('issued', 'withdrawn')"


def _head_changed(vendor):
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    cast = "::text" if vendor == "postgresql" else ""
    changed = " OR ".join(f"NEW.{c}{cast} {differs} OLD.{c}{cast}" for c in HEAD if c != "cloned_from_id")
    back = (
        "(OLD.state = 'issued' AND NEW.state NOT IN ('issued', 'withdrawn')) OR "
        "(OLD.state = 'withdrawn' AND NEW.state <> 'withdrawn')"
    )
    return f"OLD.state IN ('issued', 'withdrawn') AND ({changed} OR {back})"


def _cases():
    for table in (*OF_REVISION, *OF_STAGE):
        yield table, "INSERT", _revision(table, "NEW")
        yield table, "DELETE", _revision(table, "OLD")
        yield table, "UPDATE", f"{_revision(table, 'OLD')} OR {_revision(table, 'NEW')}"
    yield "guides_revision", "DELETE", "OLD.state IN ('issued', 'withdrawn')"


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for table, event, condition in [*_cases(), ("guides_revision", "UPDATE", _head_changed(vendor))]:
        name = f"freeze_{table}_{event.lower()}"
        if vendor == "postgresql":
            row = "OLD" if event == "DELETE" else "NEW"
            schema_editor.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {condition} THEN "
                f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN {row}; END $$",
                params=None,
            )
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()", params=None
            )
        else:
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE {event} ON {table} WHEN {condition} "
                f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
                params=None,
            )


def thaw(apps, schema_editor):
    for table, event, _condition in [*_cases(), ("guides_revision", "UPDATE", "")]:
        name = f"freeze_{table}_{event.lower()}"
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP FUNCTION IF EXISTS {name}() CASCADE", params=None)
        else:
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}", params=None)


class Migration(migrations.Migration):
    dependencies = [("guides", "0001_initial")]
    operations = [migrations.RunPython(freeze, thaw)]
