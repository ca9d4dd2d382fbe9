"""What the circuit model computed, and a mains exponent that may be left to it."""

from importlib import import_module

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

FREEZE = import_module("builds.guides.migrations.0002_freeze")


class Migration(migrations.Migration):
    dependencies = [("guides", "0002_freeze")]
    operations = [
        migrations.CreateModel(
            name="CircuitFigures",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=64, unique=True)),
                ("detail", models.JSONField()),
                ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
            ],
        ),
        # SQLite makes the table anew to alter a column, and loses its triggers on the way.
        migrations.RunPython(FREEZE.thaw, FREEZE.freeze),
        migrations.AlterField(
            model_name="check", name="mains_exponent", field=models.FloatField(blank=True, null=True)
        ),
        migrations.AddField(
            model_name="revision",
            name="figures",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="revisions",
                to="guides.circuitfigures",
            ),
        ),
        migrations.RunPython(FREEZE.freeze, FREEZE.thaw),
    ]
