"""Migrations 0001 to 0021 in one, for a new database: what they leave, without the way there."""

from importlib import import_module

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

import builds.guides.models.kits
from builds.create_models import CreateModels

_freeze = import_module("builds.guides.migrations.0002_freeze")
_fault_books = import_module("builds.guides.migrations.0004_fault_books")
_freeze_figures = import_module("builds.guides.migrations.0005_freeze_figures")
_issued_over = import_module("builds.guides.migrations.0009_issued_over")
_translations = import_module("builds.guides.migrations.0010_translations")


def guard(apps, schema_editor):
    """What the database itself refuses."""
    _freeze.freeze(apps, schema_editor)
    _fault_books.freeze(apps, schema_editor)
    _freeze_figures.freeze(apps, schema_editor)
    _issued_over.freeze(apps, schema_editor)
    _translations.freeze(apps, schema_editor)


def let_go(apps, schema_editor):
    _translations.thaw(apps, schema_editor)
    _issued_over.thaw(apps, schema_editor)
    _freeze_figures.thaw(apps, schema_editor)
    _fault_books.thaw(apps, schema_editor)
    _freeze.thaw(apps, schema_editor)


class Migration(migrations.Migration):
    replaces = [
        ("guides", "0001_initial"),
        ("guides", "0002_freeze"),
        ("guides", "0003_circuit_figures"),
        ("guides", "0004_fault_books"),
        ("guides", "0005_freeze_figures"),
        ("guides", "0006_stage_settings"),
        ("guides", "0007_stored_fault_dictionary"),
        ("guides", "0008_order_and_hands_in"),
        ("guides", "0009_issued_over"),
        ("guides", "0010_translations"),
        ("guides", "0011_draft_edits"),
        ("guides", "0012_kit_contact"),
        ("guides", "0013_figure_sources"),
        ("guides", "0014_check_signal"),
        ("guides", "0015_kit_roles"),
        ("guides", "0016_point_places"),
        ("guides", "0017_videos"),
        ("guides", "0018_picture_changes"),
        ("guides", "0019_input_sensitivity"),
        ("guides", "0020_figures_read_with_a_meter"),
        ("guides", "0021_input_impedance"),
    ]

    initial = True

    dependencies = [
        ("accounts", "__first__"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="CircuitFigures",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("key", models.CharField(max_length=64, unique=True)),
                        ("detail", models.JSONField()),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                    ],
                ),
                migrations.CreateModel(
                    name="StoredFaultDictionary",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("key", models.CharField(max_length=64, unique=True)),
                        ("data", models.BinaryField()),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                    ],
                    options={
                        "db_table": "guides_faultbook",
                    },
                ),
                migrations.CreateModel(
                    name="Kit",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("key", models.SlugField(max_length=60, unique=True)),
                        ("name", models.CharField(max_length=120)),
                        ("contact", models.CharField(blank=True, max_length=200)),
                        ("designers", models.ManyToManyField(related_name="kits", to=settings.AUTH_USER_MODEL)),
                    ],
                ),
                migrations.CreateModel(
                    name="Revision",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("letter", models.CharField(max_length=8)),
                        (
                            "state",
                            models.CharField(
                                choices=[("draft", "Draft"), ("issued", "Issued"), ("withdrawn", "Withdrawn")],
                                default="draft",
                                max_length=10,
                            ),
                        ),
                        ("name", models.CharField(max_length=120)),
                        ("summary", models.TextField(blank=True)),
                        ("mains_volts", models.PositiveSmallIntegerField(default=230)),
                        ("mains_hertz", models.PositiveSmallIntegerField(default=50)),
                        ("taps", models.JSONField(blank=True, default=list)),
                        ("own_faults", models.JSONField(blank=True, null=True)),
                        ("translations", models.JSONField(blank=True, editable=False, null=True)),
                        ("issued_over", models.JSONField(blank=True, editable=False, null=True)),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("issued_at", models.DateTimeField(blank=True, null=True)),
                        (
                            "cloned_from",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="clones",
                                to="guides.revision",
                            ),
                        ),
                        (
                            "figures",
                            models.ForeignKey(
                                blank=True,
                                null=True,
                                on_delete=django.db.models.deletion.PROTECT,
                                related_name="revisions",
                                to="guides.circuitfigures",
                            ),
                        ),
                        (
                            "kit",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="revisions", to="guides.kit"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["kit", "letter"],
                        "constraints": [
                            models.UniqueConstraint(models.F("kit"), models.F("letter"), name="one_revision_a_letter")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Point",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("position", models.PositiveIntegerField()),
                        ("node", models.CharField(max_length=60)),
                        ("words", models.CharField(max_length=200)),
                        ("picture", models.CharField(blank=True, max_length=100)),
                        ("marker", models.JSONField(blank=True, default=list)),
                        ("places", models.JSONField(blank=True, null=True)),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="points", to="guides.revision"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["position", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("revision"), models.F("node"), name="one_point_a_node")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Picture",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("name", models.CharField(max_length=100)),
                        ("file", models.FileField(max_length=200, upload_to=builds.guides.models.kits.picture_path)),
                        ("width", models.PositiveIntegerField(default=0)),
                        ("height", models.PositiveIntegerField(default=0)),
                        ("changes", models.JSONField(blank=True, editable=False, null=True)),
                        (
                            "shown",
                            models.FileField(
                                editable=False,
                                max_length=200,
                                null=True,
                                upload_to=builds.guides.models.kits.shown_path,
                            ),
                        ),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="pictures",
                                to="guides.revision",
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["name"],
                        "constraints": [
                            models.UniqueConstraint(models.F("revision"), models.F("name"), name="one_picture_a_name")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Part",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("position", models.PositiveIntegerField()),
                        ("ref", models.CharField(max_length=20)),
                        ("kind", models.CharField(max_length=30)),
                        ("value", models.CharField(blank=True, max_length=30)),
                        ("tolerance", models.CharField(blank=True, max_length=20)),
                        ("bag", models.CharField(blank=True, max_length=20)),
                        ("quantity", models.PositiveSmallIntegerField(default=1)),
                        ("note", models.CharField(blank=True, max_length=300)),
                        ("detail", models.JSONField(blank=True, default=dict)),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="parts", to="guides.revision"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["position", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("revision"), models.F("ref"), name="one_part_a_ref")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="DraftEdit",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("what", models.CharField(max_length=30)),
                        ("about", models.CharField(blank=True, max_length=200)),
                        ("before", models.JSONField()),
                        ("after_key", models.CharField(max_length=64)),
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
                                on_delete=django.db.models.deletion.CASCADE, related_name="edits", to="guides.revision"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-pk"],
                    },
                ),
                migrations.CreateModel(
                    name="Stage",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("position", models.PositiveIntegerField()),
                        ("key", models.SlugField(max_length=60)),
                        ("title", models.CharField(max_length=120)),
                        ("intro", models.TextField(blank=True)),
                        (
                            "power",
                            models.CharField(choices=[("off", "Off"), ("on", "On")], default="off", max_length=3),
                        ),
                        ("not_fitted", models.JSONField(blank=True, default=list)),
                        ("supply", models.JSONField(blank=True, default=dict)),
                        ("settings", models.JSONField(blank=True, null=True)),
                        ("cautions", models.JSONField(blank=True, default=list)),
                        ("gate", models.BooleanField(default=False)),
                        ("minutes", models.PositiveSmallIntegerField(default=0)),
                        ("video", models.JSONField(blank=True, null=True)),
                        (
                            "revision",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="stages", to="guides.revision"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["position", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("revision"), models.F("key"), name="one_stage_a_key")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Check",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("position", models.PositiveIntegerField()),
                        ("place", models.PositiveIntegerField(editable=False, null=True)),
                        ("key", models.SlugField(max_length=60)),
                        ("title", models.CharField(max_length=120)),
                        (
                            "measure",
                            models.CharField(
                                choices=[
                                    ("dc volts", "dc volts"),
                                    ("ac volts", "ac volts"),
                                    ("resistance", "resistance"),
                                    ("continuity", "continuity"),
                                    ("isolation", "isolation"),
                                    ("current", "current"),
                                    ("temperature", "temperature"),
                                    ("frequency", "frequency"),
                                    ("output power", "output power"),
                                    ("gain", "gain"),
                                    ("input sensitivity", "input sensitivity"),
                                    ("input impedance", "input impedance"),
                                    ("output impedance", "output impedance"),
                                    ("damping factor", "damping factor"),
                                    ("below full output", "below full output"),
                                    ("channel difference", "channel difference"),
                                    ("lower band edge", "lower band edge"),
                                    ("upper band edge", "upper band edge"),
                                    ("output volts", "output volts"),
                                    ("distortion", "distortion"),
                                    ("distortion less 2nd", "distortion less 2nd"),
                                    ("distortion and noise", "distortion and noise"),
                                    ("second harmonic", "second harmonic"),
                                    ("third harmonic", "third harmonic"),
                                    ("hum volts", "hum volts"),
                                    ("noise volts", "noise volts"),
                                    ("weighted noise", "weighted noise"),
                                    ("intermodulation", "intermodulation"),
                                ],
                                max_length=20,
                            ),
                        ),
                        ("red", models.CharField(max_length=120)),
                        ("black", models.CharField(default="chassis", max_length=120)),
                        ("note", models.TextField(blank=True)),
                        ("expected", models.CharField(blank=True, max_length=30)),
                        (
                            "figure_from",
                            models.CharField(
                                choices=[("designer", "Designer"), ("prototype", "Prototype"), ("model", "Model")],
                                default="designer",
                                max_length=10,
                            ),
                        ),
                        ("prototype", models.CharField(blank=True, max_length=30)),
                        ("band", models.CharField(blank=True, max_length=30)),
                        ("low", models.CharField(blank=True, max_length=30)),
                        ("high", models.CharField(blank=True, max_length=30)),
                        ("at_least", models.CharField(blank=True, max_length=30)),
                        ("at_most", models.CharField(blank=True, max_length=30)),
                        ("stop_above", models.CharField(blank=True, max_length=30)),
                        ("stop_below", models.CharField(blank=True, max_length=30)),
                        ("mains_exponent", models.FloatField(blank=True, null=True)),
                        ("source_resistance", models.CharField(blank=True, max_length=30)),
                        ("read_with", models.CharField(blank=True, max_length=30, null=True)),
                        ("through", models.CharField(blank=True, max_length=20)),
                        ("signal", models.JSONField(blank=True, null=True)),
                        ("picture", models.CharField(blank=True, max_length=100)),
                        ("marker", models.JSONField(blank=True, default=list)),
                        ("formula", models.JSONField(blank=True, default=dict)),
                        ("recording", models.JSONField(blank=True, default=dict)),
                        ("optional", models.BooleanField(default=False)),
                        ("hints", models.JSONField(blank=True, default=list)),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="checks", to="guides.stage"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["position", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("stage"), models.F("key"), name="one_check_a_key"),
                            models.CheckConstraint(
                                condition=models.Q(
                                    (
                                        "measure__in",
                                        (
                                            "dc volts",
                                            "ac volts",
                                            "resistance",
                                            "continuity",
                                            "isolation",
                                            "current",
                                            "temperature",
                                            "frequency",
                                            "output power",
                                            "gain",
                                            "input sensitivity",
                                            "input impedance",
                                            "output impedance",
                                            "damping factor",
                                            "below full output",
                                            "channel difference",
                                            "lower band edge",
                                            "upper band edge",
                                            "output volts",
                                            "distortion",
                                            "distortion less 2nd",
                                            "distortion and noise",
                                            "second harmonic",
                                            "third harmonic",
                                            "hum volts",
                                            "noise volts",
                                            "weighted noise",
                                            "intermodulation",
                                        ),
                                    )
                                ),
                                name="known_measure",
                            ),
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Step",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("position", models.PositiveIntegerField()),
                        ("place", models.PositiveIntegerField(editable=False, null=True)),
                        ("key", models.SlugField(max_length=60)),
                        ("text", models.TextField()),
                        ("parts", models.JSONField(blank=True, default=list)),
                        ("picture", models.CharField(blank=True, max_length=100)),
                        (
                            "photo",
                            models.CharField(
                                choices=[("none", "None"), ("optional", "Optional"), ("required", "Required")],
                                default="none",
                                max_length=8,
                            ),
                        ),
                        ("hands_in", models.BooleanField(default=False)),
                        ("video", models.JSONField(blank=True, null=True)),
                        (
                            "stage",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="steps", to="guides.stage"
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["position", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("stage"), models.F("key"), name="one_step_a_key")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="KitRole",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "role",
                            models.CharField(
                                choices=[("owner", "owner"), ("editor", "editor"), ("reader", "reader")], max_length=6
                            ),
                        ),
                        (
                            "kit",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE, related_name="roles", to="guides.kit"
                            ),
                        ),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="kit_roles",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(models.F("kit"), models.F("person"), name="one_role_a_designer")
                        ],
                    },
                ),
            ]
        ),
        migrations.RunPython(guard, let_go),
    ]
