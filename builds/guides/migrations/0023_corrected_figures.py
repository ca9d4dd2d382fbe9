"""Figures that an erratum gives a check: only ever added, and withdrawn once. Readings were judged by them."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

WORDS = "corrected figures are only ever added, and withdrawn once"
FACTS = ("check_id", "figures", "reason", "objections", "at")


def guard(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    changed = " OR ".join(f"NEW.{c} {differs} OLD.{c}" for c in FACTS)
    changed += f" OR (OLD.withdrawn_at IS NOT NULL AND NEW.withdrawn_at {differs} OLD.withdrawn_at)"
    if vendor == "postgresql":
        schema_editor.execute(
            f"CREATE FUNCTION corrections_stay() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {changed} THEN "
            f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
            params=None,
        )
        schema_editor.execute(
            "CREATE TRIGGER corrections_stay BEFORE UPDATE ON guides_figurecorrection FOR EACH ROW "
            "EXECUTE FUNCTION corrections_stay()",
            params=None,
        )
    else:
        schema_editor.execute(
            f"CREATE TRIGGER corrections_stay BEFORE UPDATE ON guides_figurecorrection WHEN {changed} "
            f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
            params=None,
        )


def unguard(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS corrections_stay() CASCADE", params=None)
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS corrections_stay", params=None)


class Migration(migrations.Migration):
    dependencies = [("guides", "0022_offers_of_roles")]

    operations = [
        # without a default, so that SQLite adds the column in place and the triggers that freeze a revision stay
        migrations.AddField("revision", "corrected_at", models.DateTimeField(blank=True, editable=False, null=True)),
        migrations.CreateModel(
            "FigureCorrection",
            [
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("figures", models.JSONField()),
                ("reason", models.TextField(blank=True)),
                ("objections", models.JSONField(blank=True, default=list)),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                (
                    "check_row",
                    models.ForeignKey(
                        db_column="check_id",
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="corrections",
                        to="guides.check",
                    ),
                ),
            ],
            options={"ordering": ["at", "pk"]},
        ),
        migrations.RunPython(guard, unguard),
    ]
