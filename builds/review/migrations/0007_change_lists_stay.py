"""A change list that was written down when its revision was issued stays as it is: the database refuses to change
it."""

from django.db import migrations

WORDS = "an issued change list stays as it is"


def guard(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION change_lists_stay() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
            params=None,
        )
        schema_editor.execute(
            "CREATE TRIGGER change_lists_stay BEFORE UPDATE ON review_issuedchanges FOR EACH ROW "
            "EXECUTE FUNCTION change_lists_stay()",
            params=None,
        )
    else:
        schema_editor.execute(
            "CREATE TRIGGER change_lists_stay BEFORE UPDATE ON review_issuedchanges "
            f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
            params=None,
        )


def unguard(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS change_lists_stay() CASCADE", params=None)
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS change_lists_stay", params=None)


class Migration(migrations.Migration):
    dependencies = [("review", "0006_issued_changes")]
    operations = [migrations.RunPython(guard, unguard)]
