"""The objections a revision was issued over, and the reason, are frozen with it."""

from django.db import migrations, models

WORDS = "what a revision was issued over is frozen"


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    cast = "::text" if vendor == "postgresql" else ""
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    condition = f"OLD.state IN ('issued', 'withdrawn') AND NEW.issued_over{cast} {differs} OLD.issued_over{cast}"
    name = "freeze_issued_over"
    if vendor == "postgresql":
        schema_editor.execute(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {condition} THEN "
            f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
            params=None,
        )
        schema_editor.execute(
            f"CREATE TRIGGER {name} BEFORE UPDATE ON guides_revision FOR EACH ROW EXECUTE FUNCTION {name}()",
            params=None,
        )
    else:
        schema_editor.execute(
            f"CREATE TRIGGER {name} BEFORE UPDATE ON guides_revision WHEN {condition} "
            f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
            params=None,
        )


def thaw(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS freeze_issued_over() CASCADE", params=None)
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS freeze_issued_over", params=None)


class Migration(migrations.Migration):
    dependencies = [("guides", "0008_order_and_hands_in")]

    operations = [
        migrations.AddField("revision", "issued_over", models.JSONField(blank=True, editable=False, null=True)),
        migrations.RunPython(freeze, thaw),
    ]
