"""A stop stands until its check reads well, not merely until the next reading."""

import django.db.models.deletion
from django.db import migrations, models

STOP, IN_BAND = "switch off", "in band"


def find(apps, schema_editor):
    """Of checks not passed: the latest stop with no reading in band after it."""
    statuses = apps.get_model("bench", "CheckStatus").objects
    readings = apps.get_model("bench", "Reading").objects
    for status in statuses.filter(passed=False):
        of_check = readings.filter(build_id=status.build_id, check_row_id=status.check_row_id)
        last = of_check.filter(outcome__in=(STOP, IN_BAND)).order_by("attempt").last()
        if last is not None and last.outcome == STOP:
            statuses.filter(pk=status.pk).update(stop=last)


class Migration(migrations.Migration):
    dependencies = [("bench", "0022_sheets")]
    operations = [
        migrations.AddField(
            model_name="checkstatus",
            name="stop",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="bench.reading",
            ),
        ),
        migrations.RunPython(find, migrations.RunPython.noop),
    ]
