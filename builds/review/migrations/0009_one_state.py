"""A triage no longer says "decided": its cause and its planned change say how far a problem has come."""

import django.core.validators
from django.db import migrations, models


def forget_decided(apps, schema_editor):
    apps.get_model("review", "Triage").objects.filter(state="decided").update(state="new")


class Migration(migrations.Migration):
    dependencies = [("review", "0008_cached_finding")]

    operations = [
        migrations.RunPython(forget_decided, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="triage",
            name="state",
            field=models.CharField(
                choices=[
                    ("new", "Leave open"),
                    ("done", "Close: the change is made"),
                    ("no-change", "Close: no change needed"),
                ],
                default="new",
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="decision",
            name="state",
            field=models.CharField(
                choices=[("accepted", "accepted"), ("rejected", "rejected"), ("deferred", "deferred")], max_length=10
            ),
        ),
        migrations.AlterField(
            model_name="releasecriteria",
            name="coverage",
            field=models.PositiveSmallIntegerField(
                default=70,
                validators=[
                    django.core.validators.MinValueValidator(1),
                    django.core.validators.MaxValueValidator(99),
                ],
                verbose_name="Share of the possible faults that the checks show, in %",
            ),
        ),
    ]
