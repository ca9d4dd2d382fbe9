"""When a kit was given power is a record of its own: rows are only ever added, and the database refuses to change one."""

import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

WORDS = "power on record is only ever added"
FACTS = ("build_id", "stage_id", "why", "at")


def guard(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    differs = "IS DISTINCT FROM" if vendor == "postgresql" else "IS NOT"
    changed = " OR ".join(f"NEW.{c} {differs} OLD.{c}" for c in FACTS)
    if vendor == "postgresql":
        schema_editor.execute(
            f"CREATE FUNCTION power_stays() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {changed} THEN "
            f"RAISE EXCEPTION '{WORDS}' USING ERRCODE = 'integrity_constraint_violation'; END IF; RETURN NEW; END $$",
            params=None,
        )
        schema_editor.execute(
            "CREATE TRIGGER power_stays BEFORE UPDATE ON bench_poweron FOR EACH ROW EXECUTE FUNCTION power_stays()",
            params=None,
        )
    else:
        schema_editor.execute(
            f"CREATE TRIGGER power_stays BEFORE UPDATE ON bench_poweron WHEN {changed} "
            f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END",
            params=None,
        )


def unguard(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION IF EXISTS power_stays() CASCADE", params=None)
    else:
        schema_editor.execute("DROP TRIGGER IF EXISTS power_stays", params=None)


class Migration(migrations.Migration):
    dependencies = [
        ("bench", "0016_texts_of_choices"),
        ("guides", "0010_translations"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        migrations.CreateModel(
            name="PowerOn",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                (
                    "why",
                    models.CharField(
                        choices=[("cautions", "cautions read, live work begins"), ("again", "switched on again")],
                        default="cautions",
                        max_length=10,
                    ),
                ),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "build",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="power_ons", to="bench.build"
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "stage",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="guides.stage",
                    ),
                ),
            ],
            options={"ordering": ["at", "pk"]},
        ),
        migrations.RunPython(guard, unguard),
    ]
