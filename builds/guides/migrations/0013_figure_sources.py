"""Checks may be figures of the finished amplifier: worked out from other checks, or measured in a recording.

SQLite makes the table of checks again, which loses the triggers that freeze it: they are put back.
"""

from importlib import import_module

from django.db import migrations, models

_frozen = import_module("builds.guides.migrations.0002_freeze")
MEASURES = (
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
)


def freeze_checks(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for event, row in (("INSERT", "NEW"), ("DELETE", "OLD")):
            _freeze(schema_editor, event, _frozen._revision("guides_check", row))
        either = " OR ".join(_frozen._revision("guides_check", row) for row in ("OLD", "NEW"))
        _freeze(schema_editor, "UPDATE", either)


def _freeze(schema_editor, event, condition):
    name = f"freeze_guides_check_{event.lower()}"
    schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}")
    schema_editor.execute(
        f"CREATE TRIGGER {name} BEFORE {event} ON guides_check WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{_frozen.WORDS}'); END",
        params=None,
    )


class Migration(migrations.Migration):
    dependencies = [("guides", "0012_kit_contact")]

    operations = [
        migrations.RemoveConstraint(model_name="check", name="known_measure"),
        migrations.AddField("check", "formula", models.JSONField(blank=True, default=dict)),
        migrations.AddField("check", "recording", models.JSONField(blank=True, default=dict)),
        migrations.AlterField("check", "measure", models.CharField(choices=[(m, m) for m in MEASURES], max_length=20)),
        migrations.AddConstraint(
            model_name="check",
            constraint=models.CheckConstraint(condition=models.Q(("measure__in", MEASURES)), name="known_measure"),
        ),
        migrations.RunPython(freeze_checks, freeze_checks),
    ]
