"""Migrations 0001 to 0034 in one, for a new database: what they leave, without the way there."""

import uuid
from importlib import import_module

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

import builds.bench.models.photos
import builds.bench.models.recordings
from builds.create_models import CreateModels

_readings_stay = import_module("builds.bench.migrations.0002_readings_stay")
_power_on = import_module("builds.bench.migrations.0017_power_on")


def guard(apps, schema_editor):
    """What the database itself refuses."""
    _readings_stay.guard(apps, schema_editor)
    _power_on.guard(apps, schema_editor)


def let_go(apps, schema_editor):
    _power_on.unguard(apps, schema_editor)
    _readings_stay.unguard(apps, schema_editor)


class Migration(migrations.Migration):
    replaces = [
        ("bench", "0001_initial"),
        ("bench", "0002_readings_stay"),
        ("bench", "0003_reading_index"),
        ("bench", "0004_meter_checks"),
        ("bench", "0005_confirmed_faults"),
        ("bench", "0006_snag_severity"),
        ("bench", "0007_errata"),
        ("bench", "0008_extra_readings"),
        ("bench", "0009_moves"),
        ("bench", "0010_fitted_valves"),
        ("bench", "0011_merged_snags"),
        ("bench", "0012_standing_figures"),
        ("bench", "0013_check_status"),
        ("bench", "0014_confirming_readings"),
        ("bench", "0015_codes_for_words"),
        ("bench", "0016_texts_of_choices"),
        ("bench", "0017_power_on"),
        ("bench", "0018_power_of_sittings"),
        ("bench", "0019_drop_power_of_sittings"),
        ("bench", "0020_withdrawn_photos_and_spots"),
        ("bench", "0021_receipts"),
        ("bench", "0022_sheets"),
        ("bench", "0023_standing_stops"),
        ("bench", "0024_codes_for_moves"),
        ("bench", "0025_recordings"),
        ("bench", "0026_codes_for_causes"),
        ("bench", "0027_parts_found"),
        ("bench", "0028_valves_of_a_build"),
        ("bench", "0029_erratum_entry_key"),
        ("bench", "0030_fast_track"),
        ("bench", "0031_counted_from_an_index"),
        ("bench", "0032_receipts_of_taken_back_ticks"),
        ("bench", "0033_clearer_labels"),
        ("bench", "0034_marks_of_recordings"),
    ]

    initial = True

    dependencies = [
        ("accounts", "0001_initial"),
        ("guides", "0001_initial"),
        ("accounts", "__first__"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Build",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("serial", models.CharField(max_length=30)),
                        ("mains_volts", models.PositiveSmallIntegerField(default=230)),
                        ("mains_hertz", models.PositiveSmallIntegerField(default=50)),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("started_at", models.DateTimeField(blank=True, null=True)),
                        ("finished_at", models.DateTimeField(blank=True, null=True)),
                        ("given_up_at", models.DateTimeField(blank=True, null=True)),
                        ("fast_track", models.BooleanField(default=False)),
                        ("own_valves", models.JSONField(blank=True, default=dict, editable=False)),
                        (
                            "builder",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="builds",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "invitation",
                            models.OneToOneField(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="build",
                                to="accounts.invitation",
                            ),
                        ),
                        (
                            "meter",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="builds",
                                to="accounts.meter",
                            ),
                        ),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="builds", to="guides.revision"
                            ),
                        ),
                        (
                            "valve_figures",
                            models.ForeignKey(
                                blank=True,
                                editable=False,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="builds",
                                to="guides.circuitfigures",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["serial", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("revision"), models.F("serial"), name="one_build_a_serial")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Concession",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("reason", models.TextField()),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="concessions",
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
                                db_column="check_id",
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="concessions",
                                to="guides.check",
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("build"), models.F("check_row"), name="one_concession_a_check"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ConfirmedFault",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("fault", models.CharField(max_length=80)),
                        ("code", models.CharField(default="own", max_length=40)),
                        ("params", models.JSONField(blank=True, default=dict)),
                        ("words", models.CharField(blank=True, max_length=300)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("taken_back_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="confirmed_faults",
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
                    ],
                    options={
                        "ordering": ["at", "pk"],
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("build"),
                                models.F("fault"),
                                condition=models.Q(("taken_back_at", None)),
                                name="one_confirmation_a_fault",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Erratum",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("words", models.TextField()),
                        ("again", models.TextField(blank=True)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                        ("entry_key", models.UUIDField(null=True, unique=True)),
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
                                related_name="errata",
                                to="guides.check",
                            ),
                        ),
                        (
                            "part",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="errata",
                                to="guides.part",
                            ),
                        ),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="errata", to="guides.revision"
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="errata", to="guides.stage"
                            ),
                        ),
                        (
                            "step",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="errata",
                                to="guides.step",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["stage__position", "at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="ErratumSeen",
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
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="errata_seen",
                                to="bench.build",
                            ),
                        ),
                        (
                            "erratum",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="seen", to="bench.erratum"
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("erratum"), models.F("build"), name="one_confirmation_an_erratum"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ExtraReading",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("place", models.CharField(max_length=120)),
                        ("part", models.CharField(blank=True, max_length=20)),
                        ("typed", models.CharField(max_length=40)),
                        ("value", models.FloatField(null=True)),
                        ("u", models.FloatField(default=0.0)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="extra_readings",
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
                    ],
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="FittedValve",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("ref", models.CharField(max_length=20)),
                        ("type", models.CharField(blank=True, max_length=40)),
                        ("make", models.CharField(max_length=60)),
                        ("code", models.CharField(blank=True, max_length=40)),
                        (
                            "why",
                            models.CharField(
                                choices=[
                                    ("first", "first fitted"),
                                    ("doubt", "swapped: the old one may be faulty"),
                                    ("faulty", "swapped: the old one was faulty"),
                                    ("places", "two valves changed places"),
                                    ("slip", "no swap: this corrects my note"),
                                ],
                                default="first",
                                max_length=6,
                            ),
                        ),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="valves", to="bench.build"
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
                    ],
                    options={
                        "ordering": ["at", "pk"],
                        "indexes": [models.Index(fields=["build", "ref"], name="bench_fitte_build_i_cc3608_idx")],
                    },
                ),
                migrations.CreateModel(
                    name="Halt",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("reason", models.CharField(max_length=300)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("lifted_at", models.DateTimeField(blank=True, null=True)),
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
                                on_delete=django.db.models.deletion.CASCADE, related_name="halts", to="guides.stage"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at"],
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("stage"), condition=models.Q(("lifted_at", None)), name="one_halt_a_stage"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="MadeSafe",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("typed", models.CharField(max_length=40)),
                        ("volts", models.FloatField()),
                        ("is_safe", models.BooleanField()),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="made_safes", to="bench.build"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at"],
                    },
                ),
                migrations.CreateModel(
                    name="MeterCheck",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("typed", models.CharField(max_length=40)),
                        ("error", models.FloatField(null=True)),
                        (
                            "trim",
                            models.CharField(
                                choices=[
                                    ("in trim", "in trim"),
                                    ("can't tell", "can't tell"),
                                    ("out of trim", "out of trim"),
                                ],
                                max_length=12,
                            ),
                        ),
                        ("params", models.JSONField(blank=True, default=dict)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="meter_checks",
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
                            "meter",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="self_checks",
                                to="accounts.meter",
                            ),
                        ),
                        (
                            "part",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="guides.part"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="Move",
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
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE, related_name="moved_from", to="bench.build"
                            ),
                        ),
                        (
                            "source",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.PROTECT, related_name="moved_to", to="bench.build"
                            ),
                        ),
                    ],
                ),
                migrations.CreateModel(
                    name="MoveOffer",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("taken_at", models.DateTimeField(blank=True, null=True)),
                        ("declined_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="move_offers",
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
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="guides.revision"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at"],
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("build"),
                                condition=models.Q(("declined_at", None), ("taken_at", None)),
                                name="one_open_offer_a_build",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="PartFound",
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
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="parts_found",
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
                            "part",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="+", to="guides.part"
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(models.F("build"), models.F("part"), name="one_find_a_part")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="PartSwap",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("ref", models.CharField(max_length=20)),
                        (
                            "action",
                            models.CharField(
                                choices=[
                                    ("fit", "Fit"),
                                    ("remove", "Remove"),
                                    ("change", "Change"),
                                    ("rewire", "Rewire"),
                                ],
                                max_length=10,
                            ),
                        ),
                        ("params", models.JSONField(default=dict)),
                        ("done_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="part_swaps", to="bench.build"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("build"), models.F("ref"), name="one_swap_a_part")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="PowerOn",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        (
                            "why",
                            models.CharField(
                                choices=[
                                    ("cautions", "cautions read, live work begins"),
                                    ("again", "switched on again"),
                                ],
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
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="Reading",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("attempt", models.PositiveSmallIntegerField()),
                        ("is_slip", models.BooleanField(default=False)),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("typed", models.CharField(max_length=40)),
                        ("value", models.FloatField(null=True)),
                        ("over_range", models.BooleanField(default=False)),
                        ("below_range", models.BooleanField(default=False)),
                        ("true_value", models.FloatField(null=True)),
                        ("u", models.FloatField(default=0)),
                        ("at_reference", models.FloatField(null=True)),
                        ("low", models.FloatField(null=True)),
                        ("high", models.FloatField(null=True)),
                        ("expected", models.FloatField(null=True)),
                        (
                            "outcome",
                            models.CharField(
                                choices=[
                                    ("in band", "in band"),
                                    ("too close to call", "too close to call"),
                                    ("out of band", "out of band"),
                                    ("switch off", "switch off"),
                                ],
                                max_length=20,
                            ),
                        ),
                        ("probability", models.FloatField(null=True)),
                        ("deviation", models.FloatField(default=0)),
                        ("confirms", models.BooleanField(default=False)),
                        ("reason", models.CharField(blank=True, max_length=20)),
                        ("params", models.JSONField(blank=True, default=dict)),
                        ("meter_spec", models.JSONField(default=dict)),
                        ("mains_volts", models.FloatField(null=True)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="readings", to="bench.build"
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
                                db_column="check_id",
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="readings",
                                to="guides.check",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at", "pk"],
                        "indexes": [models.Index(fields=["outcome", "at"], name="reading_by_outcome")],
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("build"),
                                models.F("check_row"),
                                models.F("attempt"),
                                name="one_reading_an_attempt",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="CheckStatus",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("attempts", models.PositiveSmallIntegerField(default=1)),
                        (
                            "first_outcome",
                            models.CharField(
                                choices=[
                                    ("in band", "in band"),
                                    ("too close to call", "too close to call"),
                                    ("out of band", "out of band"),
                                    ("switch off", "switch off"),
                                ],
                                max_length=20,
                            ),
                        ),
                        (
                            "outcome",
                            models.CharField(
                                choices=[
                                    ("in band", "in band"),
                                    ("too close to call", "too close to call"),
                                    ("out of band", "out of band"),
                                    ("switch off", "switch off"),
                                ],
                                max_length=20,
                            ),
                        ),
                        ("deviation", models.FloatField(default=0)),
                        ("at_reference", models.FloatField(null=True)),
                        ("u", models.FloatField(default=0)),
                        ("passed", models.BooleanField(default=False)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="statuses", to="bench.build"
                            ),
                        ),
                        (
                            "check_row",
                            models.ForeignKey(
                                db_column="check_id",
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="statuses",
                                to="guides.check",
                            ),
                        ),
                        (
                            "latest",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="bench.reading"
                            ),
                        ),
                        (
                            "stop",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="bench.reading",
                            ),
                        ),
                    ],
                    options={
                        "db_table": "bench_standing",
                        "indexes": [
                            models.Index(
                                fields=["check_row", "first_outcome", "latest", "attempts", "passed"],
                                name="statuses_counted",
                            )
                        ],
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("build"), models.F("check_row"), name="one_standing_a_check"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Carried",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="carried", to="bench.build"
                            ),
                        ),
                        (
                            "check_row",
                            models.ForeignKey(
                                blank=True,
                                db_column="check_id",
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="guides.check",
                            ),
                        ),
                        (
                            "step",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="guides.step",
                            ),
                        ),
                        (
                            "reading",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="+",
                                to="bench.reading",
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(models.F("build"), models.F("step"), name="a_step_is_carried_once"),
                            models.UniqueConstraint(
                                models.F("build"), models.F("check_row"), name="a_check_is_carried_once"
                            ),
                            models.CheckConstraint(
                                condition=models.Q(
                                    models.Q(("check_row__isnull", False), ("step", None)),
                                    models.Q(("check_row", None), ("step__isnull", False)),
                                    _connector="OR",
                                ),
                                name="a_step_or_a_check",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Receipt",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(unique=True)),
                        ("kind", models.CharField(max_length=10)),
                        ("unticked", models.CharField(blank=True, default="", max_length=170)),
                        ("made_at", models.DateTimeField()),
                        ("arrived_at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="receipts", to="bench.build"
                            ),
                        ),
                    ],
                ),
                migrations.CreateModel(
                    name="Recording",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("plan", models.JSONField(default=dict)),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        (
                            "file",
                            models.FileField(max_length=200, upload_to=builds.bench.models.recordings.recording_path),
                        ),
                        ("name", models.CharField(max_length=120)),
                        ("meter_volts", models.CharField(blank=True, max_length=40)),
                        ("scale", models.FloatField(null=True)),
                        ("scale_u", models.FloatField(null=True)),
                        ("rate", models.PositiveIntegerField(default=0)),
                        ("channels", models.PositiveSmallIntegerField(default=0)),
                        ("seconds", models.FloatField(default=0)),
                        ("bits", models.CharField(blank=True, max_length=10)),
                        (
                            "state",
                            models.CharField(
                                choices=[("waiting", "Waiting"), ("analysed", "Analysed"), ("refused", "Refused")],
                                default="waiting",
                                max_length=10,
                            ),
                        ),
                        ("error", models.JSONField(blank=True, default=dict)),
                        ("results", models.JSONField(blank=True, default=list)),
                        ("marks", models.JSONField(blank=True, default=list)),
                        ("valves", models.JSONField(blank=True, default=list)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="recordings", to="bench.build"
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
                                related_name="recordings",
                                to="guides.stage",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                        "indexes": [models.Index(fields=["build", "stage", "state"], name="recordings_of_stage")],
                    },
                ),
                migrations.CreateModel(
                    name="Sheet",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("entered_at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="sheets", to="bench.build"
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
                        ("readings", models.ManyToManyField(related_name="sheets", to="bench.reading")),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="guides.stage"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["entered_at"],
                    },
                ),
                migrations.CreateModel(
                    name="Sitting",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("begun_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("seen_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("ended_at", models.DateTimeField(blank=True, null=True)),
                        ("mains_asked_at", models.DateTimeField(blank=True, null=True)),
                        ("mains_volts", models.FloatField(blank=True, null=True)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="sittings", to="bench.build"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["begun_at"],
                    },
                ),
                migrations.CreateModel(
                    name="Acknowledgement",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="guides.stage"
                            ),
                        ),
                        (
                            "sitting",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="acknowledgements",
                                to="bench.sitting",
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(
                                models.F("sitting"), models.F("stage"), name="one_acknowledgement_a_sitting"
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Snag",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "kind",
                            models.CharField(
                                choices=[
                                    ("words", "a step is unclear"),
                                    ("part", "a part is wrong or missing"),
                                    ("fit", "something does not fit"),
                                    ("damaged", "something is damaged"),
                                    ("reading", "a reading is wrong"),
                                    ("other", "something else"),
                                ],
                                max_length=10,
                            ),
                        ),
                        (
                            "severity",
                            models.CharField(
                                choices=[
                                    ("danger", "danger: smoke, shock, heat or a bang"),
                                    ("stopped", "it stopped my work"),
                                    ("slowed", "it slowed me down"),
                                    ("cosmetic", "cosmetic only"),
                                ],
                                default="slowed",
                                max_length=10,
                            ),
                        ),
                        ("words", models.TextField()),
                        ("spot", models.JSONField(blank=True, null=True)),
                        (
                            "state",
                            models.CharField(
                                choices=[("open", "open"), ("answered", "answered"), ("closed", "closed")],
                                default="open",
                                max_length=10,
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="snags", to="bench.build"
                            ),
                        ),
                        (
                            "by",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="snags",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                        (
                            "check_row",
                            models.ForeignKey(
                                blank=True,
                                db_column="check_id",
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="snags",
                                to="guides.check",
                            ),
                        ),
                        (
                            "merged_into",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="merged",
                                to="bench.snag",
                            ),
                        ),
                        (
                            "part",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="snags",
                                to="guides.part",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="snags", to="guides.stage"
                            ),
                        ),
                        (
                            "step",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="snags",
                                to="guides.step",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-at", "-pk"],
                        "constraints": [
                            models.CheckConstraint(
                                condition=models.Q(("merged_into", models.F("pk")), _negated=True),
                                name="not_merged_into_itself",
                            )
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Photo",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("full", models.FileField(max_length=200, upload_to=builds.bench.models.photos.photo_path)),
                        (
                            "print_copy",
                            models.FileField(max_length=200, upload_to=builds.bench.models.photos.photo_path),
                        ),
                        ("thumb", models.FileField(max_length=200, upload_to=builds.bench.models.photos.photo_path)),
                        ("width", models.PositiveIntegerField(default=0)),
                        ("height", models.PositiveIntegerField(default=0)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="photos", to="bench.build"
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
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photos",
                                to="guides.check",
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="guides.stage"
                            ),
                        ),
                        (
                            "step",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="photos",
                                to="guides.step",
                            ),
                        ),
                        (
                            "snag",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="photos",
                                to="bench.snag",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="Message",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("words", models.TextField()),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
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
                            "snag",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="messages", to="bench.snag"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
                migrations.CreateModel(
                    name="StageVisit",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("opened_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("done_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="visits", to="bench.build"
                            ),
                        ),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="visits", to="guides.stage"
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(models.F("build"), models.F("stage"), name="one_visit_a_stage")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Tick",
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
                                on_delete=django.db.models.deletion.CASCADE, related_name="ticks", to="bench.build"
                            ),
                        ),
                        (
                            "step",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.PROTECT, related_name="ticks", to="guides.step"
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(models.F("build"), models.F("step"), name="one_tick_a_step")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="ValveTest",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("entry_key", models.UUIDField(default=uuid.uuid4, unique=True)),
                        ("ref", models.CharField(max_length=20)),
                        ("section", models.CharField(blank=True, max_length=1)),
                        ("type", models.CharField(max_length=40)),
                        ("make", models.CharField(blank=True, max_length=60)),
                        ("code", models.CharField(blank=True, max_length=40)),
                        ("anode_volts", models.FloatField(null=True)),
                        ("screen_volts", models.FloatField(null=True)),
                        ("grid_volts", models.FloatField(null=True)),
                        ("anode_amps", models.FloatField(null=True)),
                        ("transconductance", models.FloatField(null=True)),
                        ("accuracy", models.FloatField(default=0.05)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "build",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="valve_tests",
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
                    ],
                    options={
                        "ordering": ["at", "pk"],
                    },
                ),
            ]
        ),
        migrations.RunPython(guard, let_go),
    ]
