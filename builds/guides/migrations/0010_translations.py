"""A guide may carry translations of its texts, which are frozen with the revision."""

from django.db import migrations, models

WORDS = "the translations of an issued revision are frozen"


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    cast = "::text" if vendor == "postgresql" else ""
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    condition = f"OLD.state IN ('issued', 'withdrawn') AND NEW.translations{cast} {differs} OLD.translations{cast}"
    name = "freeze_translations"
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
        schema_editor.execute("DROP FUNCTION IF EXISTS freeze_translations() CASCADE", params=None)
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS freeze_translations", params=None)


class Migration(migrations.Migration):
    dependencies = [("guides", "0009_issued_over")]

    operations = [
        migrations.AddField("revision", "translations", models.JSONField(blank=True, editable=False, null=True)),
        migrations.RunPython(freeze, thaw),
    ]
