"""The record of who did what is only ever added to: the database itself refuses to change or delete a line."""

from django.db import migrations

WORDS = "the record of events is only added to"


def guard(apps, schema_editor):
    for event in ("UPDATE", "DELETE"):
        name = f"accounts_event_no_{event.lower()}"
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
                f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
                params=None,
            )
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE {event} ON accounts_event FOR EACH ROW EXECUTE FUNCTION {name}()",
                params=None,
            )
        else:
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE {event} ON accounts_event BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
                params=None,
            )


def let_go(apps, schema_editor):
    for event in ("UPDATE", "DELETE"):
        name = f"accounts_event_no_{event.lower()}"
        on = " ON accounts_event" if schema_editor.connection.vendor == "postgresql" else ""
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}{on}", params=None)
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP FUNCTION IF EXISTS {name}()", params=None)


class Migration(migrations.Migration):
    dependencies = [("accounts", "0004_devices_events_and_counts")]
    operations = [migrations.RunPython(guard, let_go)]
