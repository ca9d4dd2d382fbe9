"""Checks may be of input sensitivity. SQLite makes the table again: the triggers that freeze it are put back."""

from importlib import import_module

from django.db import migrations, models

_before = import_module("builds.guides.migrations.0013_figure_sources")
_AT = _before.MEASURES.index("output impedance")
MEASURES = (*_before.MEASURES[:_AT], "input sensitivity", *_before.MEASURES[_AT:])


class Migration(migrations.Migration):
    dependencies = [("guides", "0018_picture_changes")]

    operations = [
        migrations.RemoveConstraint(model_name="check", name="known_measure"),
        migrations.AlterField("check", "measure", models.CharField(choices=[(m, m) for m in MEASURES], max_length=20)),
        migrations.AddConstraint(
            model_name="check",
            constraint=models.CheckConstraint(condition=models.Q(("measure__in", MEASURES)), name="known_measure"),
        ),
        migrations.RunPython(_before.freeze_checks, _before.freeze_checks),
    ]
