"""Migrations 0001 to 0005 in one, for a new database: what they leave, without the way there."""

from importlib import import_module

import django.db.models.deletion
import django.db.models.functions.text
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from builds.create_models import CreateModels

_events_stay = import_module("builds.accounts.migrations.0005_events_stay")


def guard(apps, schema_editor):
    """What the database itself refuses."""
    _events_stay.guard(apps, schema_editor)


def let_go(apps, schema_editor):
    _events_stay.let_go(apps, schema_editor)


class Migration(migrations.Migration):
    replaces = [
        ("accounts", "0001_initial"),
        ("accounts", "0002_person_language_and_time_zone"),
        ("accounts", "0003_name_keys"),
        ("accounts", "0004_devices_events_and_counts"),
        ("accounts", "0005_events_stay"),
    ]

    initial = True

    dependencies = []

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Person",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("password", models.CharField(max_length=128, verbose_name="password")),
                        ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                        ("display_name", models.CharField(max_length=60, verbose_name="name")),
                        ("name_key", models.CharField(editable=False, max_length=180, unique=True)),
                        ("email", models.EmailField(blank=True, max_length=254)),
                        (
                            "runs_site",
                            models.BooleanField(default=False, help_text="Sees the status of the whole site."),
                        ),
                        ("may_design", models.BooleanField(default=False, help_text="May make kits of their own.")),
                        ("language", models.CharField(blank=True, max_length=10)),
                        ("time_zone", models.CharField(blank=True, max_length=50)),
                        ("is_active", models.BooleanField(default=True)),
                        ("joined_at", models.DateTimeField(default=django.utils.timezone.now)),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(
                                django.db.models.functions.text.Lower("display_name"),
                                name="one_person_a_name",
                                violation_error_message="Someone here already has that name.",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="CallCount",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("kind", models.CharField(max_length=20)),
                        ("key", models.CharField(max_length=64)),
                        ("span", models.DateTimeField(db_index=True)),
                        ("count", models.PositiveIntegerField(default=1)),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("kind"), models.F("key"), models.F("span"), name="one_count_a_span"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Device",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("session_key", models.CharField(max_length=40, unique=True)),
                        ("agent", models.CharField(blank=True, max_length=200)),
                        ("signed_in_at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="devices",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-signed_in_at"],
                    },
                ),
                migrations.CreateModel(
                    name="Event",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("name", models.CharField(max_length=60)),
                        ("kit", models.CharField(blank=True, db_index=True, max_length=60)),
                        ("action", models.CharField(max_length=60)),
                        ("params", models.JSONField(blank=True, default=dict)),
                        ("at", models.DateTimeField(db_index=True, default=django.utils.timezone.now)),
                        (
                            "person",
                            models.ForeignKey(
                                db_constraint=False,
                                null=True,
                                on_delete=django.db.models.deletion.DO_NOTHING,
                                related_name="+",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                    },
                ),
                migrations.CreateModel(
                    name="Invitation",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("token_hash", models.CharField(max_length=64, unique=True)),
                        (
                            "purpose",
                            models.CharField(
                                choices=[("build", "take on a build"), ("password", "choose a new password")],
                                max_length=10,
                            ),
                        ),
                        ("expires_at", models.DateTimeField()),
                        ("used_at", models.DateTimeField(null=True)),
                        ("revoked_at", models.DateTimeField(null=True)),
                        (
                            "made_by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="invitations_made",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "person",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="invitations",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                ),
                migrations.CreateModel(
                    name="Meter",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("name", models.CharField(max_length=60)),
                        ("spec", models.JSONField()),
                        ("retired", models.BooleanField(default=False)),
                        (
                            "owner",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="meters",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                ),
            ]
        ),
        migrations.RunPython(guard, let_go),
    ]
