"""Checks may be of input impedance. SQLite makes the table again: the triggers that freeze it are put back."""

from importlib import import_module

from django.db import migrations, models

_frozen = import_module("builds.guides.migrations.0013_figure_sources")
_before = import_module("builds.guides.migrations.0019_input_sensitivity")
_AT = _before.MEASURES.index("output impedance")
MEASURES = (*_before.MEASURES[:_AT], "input impedance", *_before.MEASURES[_AT:])


class Migration(migrations.Migration):
    dependencies = [("guides", "0020_figures_read_with_a_meter")]

    operations = [
        migrations.RemoveConstraint(model_name="check", name="known_measure"),
        migrations.AlterField("check", "measure", models.CharField(choices=[(m, m) for m in MEASURES], max_length=20)),
        migrations.AddConstraint(
            model_name="check",
            constraint=models.CheckConstraint(condition=models.Q(("measure__in", MEASURES)), name="known_measure"),
        ),
        migrations.RunPython(_frozen.freeze_checks, _frozen.freeze_checks),
    ]
