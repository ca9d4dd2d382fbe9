"""Migrations 0001 to 0013 in one, for a new database: what they leave, without the way there."""

from importlib import import_module

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from builds.create_models import CreateModels

_change_lists_stay = import_module("builds.review.migrations.0007_change_lists_stay")


def guard(apps, schema_editor):
    """What the database itself refuses."""
    _change_lists_stay.guard(apps, schema_editor)


def let_go(apps, schema_editor):
    _change_lists_stay.unguard(apps, schema_editor)


class Migration(migrations.Migration):
    replaces = [
        ("review", "0001_initial"),
        ("review", "0002_decisions"),
        ("review", "0003_release_criteria"),
        ("review", "0004_part_batches"),
        ("review", "0005_kept_findings"),
        ("review", "0006_issued_changes"),
        ("review", "0007_change_lists_stay"),
        ("review", "0008_cached_finding"),
        ("review", "0009_one_state"),
        ("review", "0010_cached_findings_finding"),
        ("review", "0011_reference_build"),
        ("review", "0012_decision_basis"),
        ("review", "0013_cached_correlations"),
    ]

    initial = True

    dependencies = [
        ("bench", "0001_initial"),
        ("guides", "0001_initial"),
        ("accounts", "__first__"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="CachedCorrelations",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("token", models.CharField(max_length=64)),
                        ("examined", models.JSONField()),
                        (
                            "check_row",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="cached_correlations",
                                to="guides.check",
                            ),
                        ),
                    ],
                ),
                migrations.CreateModel(
                    name="CachedFinding",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("token", models.CharField(max_length=64)),
                        ("finding", models.JSONField()),
                        ("proposal", models.JSONField(null=True)),
                        ("summary", models.JSONField()),
                        ("misses", models.JSONField(default=list)),
                        (
                            "check_row",
                            models.OneToOneField(
                                db_column="check_id",
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="cached_finding",
                                to="guides.check",
                            ),
                        ),
                    ],
                    options={
                        "db_table": "review_keptfinding",
                    },
                ),
                migrations.CreateModel(
                    name="IssuedChanges",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("listed", models.JSONField()),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "revision",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="change_record",
                                to="guides.revision",
                            ),
                        ),
                        ("snags", models.ManyToManyField(related_name="change_records", to="bench.snag")),
                    ],
                ),
                migrations.CreateModel(
                    name="PartBatch",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("refs", models.JSONField()),
                        ("name", models.CharField(max_length=60)),
                        ("note", models.CharField(blank=True, max_length=300)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("builds", models.ManyToManyField(related_name="part_batches", to="bench.build")),
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
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="part_batches",
                                to="guides.revision",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="ReferenceBuild",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="+", to="bench.build"
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
                            "revision",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="reference",
                                to="guides.revision",
                            ),
                        ),
                    ],
                ),
                migrations.CreateModel(
                    name="ReleaseCriteria",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "builds_done",
                            models.PositiveSmallIntegerField(
                                default=8,
                                validators=[django.core.validators.MaxValueValidator(500)],
                                verbose_name="Builds signed off",
                            ),
                        ),
                        (
                            "first_pass",
                            models.PositiveSmallIntegerField(
                                default=60,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(99),
                                ],
                                verbose_name="Lower bound of every stage's first-pass yield, in %",
                            ),
                        ),
                        (
                            "confidence",
                            models.PositiveSmallIntegerField(
                                default=90,
                                validators=[
                                    django.core.validators.MinValueValidator(50),
                                    django.core.validators.MaxValueValidator(99),
                                ],
                                verbose_name="Confidence of that bound, in %",
                            ),
                        ),
                        (
                            "readings_each",
                            models.PositiveSmallIntegerField(
                                default=6,
                                validators=[django.core.validators.MaxValueValidator(500)],
                                verbose_name="Builds that have read each check",
                            ),
                        ),
                        (
                            "coverage",
                            models.PositiveSmallIntegerField(
                                default=70,
                                validators=[
                                    django.core.validators.MinValueValidator(1),
                                    django.core.validators.MaxValueValidator(99),
                                ],
                                verbose_name="Share of the possible faults that the checks show, in %",
                            ),
                        ),
                        ("no_danger", models.BooleanField(default=True, verbose_name="No danger snag may be open")),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
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
                            "kit",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="release_criteria",
                                to="guides.kit",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                    },
                ),
                migrations.CreateModel(
                    name="Decision",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[("accepted", "accepted"), ("rejected", "rejected"), ("deferred", "deferred")],
                                max_length=10,
                            ),
                        ),
                        ("finding", models.CharField(blank=True, max_length=20)),
                        ("basis", models.JSONField(blank=True, null=True)),
                        ("evidence", models.TextField(blank=True)),
                        ("reason", models.TextField(blank=True)),
                        ("edits", models.JSONField(default=list)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
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
                            "check_row",
                            models.ForeignKey(
                                blank=True,
                                db_column="check_id",
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="decisions",
                                to="guides.check",
                            ),
                        ),
                        (
                            "draft",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="changes",
                                to="guides.revision",
                            ),
                        ),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="decisions",
                                to="guides.revision",
                            ),
                        ),
                        (
                            "snag",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="decisions",
                                to="bench.snag",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("revision"),
                                models.F("check_row"),
                                condition=models.Q(("snag", None)),
                                name="one_decision_a_check",
                            ),
                            models.UniqueConstraint(
                                models.F("revision"),
                                models.F("snag"),
                                condition=models.Q(("check_row", None)),
                                name="one_decision_a_snag",
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("check_row", None), ("snag__isnull", False)),
                                    models.Q(("check_row__isnull", False), ("snag", None)),
                                    _connector="OR",
                                ),
                                name="decision_on_one_thing",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Triage",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "cause",
                            models.CharField(
                                choices=[
                                    ("figure", "guide figure"),
                                    ("wording", "guide wording"),
                                    ("part", "part"),
                                    ("workmanship", "workmanship"),
                                    ("design", "design"),
                                    ("meter", "meter"),
                                    ("unknown", "unknown"),
                                ],
                                default="unknown",
                                max_length=12,
                            ),
                        ),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("new", "Leave open"),
                                    ("done", "Close: the change is made"),
                                    ("no-change", "Close: no change needed"),
                                ],
                                default="new",
                                max_length=10,
                            ),
                        ),
                        ("planned_change", models.TextField(blank=True)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="triages",
                                to="bench.build",
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
                            "check_row",
                            models.ForeignKey(
                                blank=True,
                                db_column="check_id",
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="triages",
                                to="guides.check",
                            ),
                        ),
                        (
                            "snag",
                            models.OneToOneField(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="triage",
                                to="bench.snag",
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("build"), models.F("check_row"), name="one_triage_a_deviation"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("build", None), ("check_row", None), ("snag__isnull", False)),
                                    models.Q(("build__isnull", False), ("check_row__isnull", False), ("snag", None)),
                                    _connector="OR",
                                ),
                                name="triage_of_one_thing",
                            ),
                        ],
                    },
                ),
            ]
        ),
        migrations.RunPython(guard, let_go),
    ]
