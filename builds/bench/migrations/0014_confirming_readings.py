"""Whether a reading lies in band as it reads, so that a second one like it may confirm it; readings below the range."""

from importlib import import_module

from django.db import migrations, models
from django.db.models import F, Q
from django.db.models.functions import Abs


def guard_again(apps, schema_editor):
    """SQLite makes a table with a new column anew, and the trigger that keeps readings as they are goes with the old."""
    first = import_module("builds.bench.migrations.0002_readings_stay")
    first.unguard(apps, schema_editor)
    first.guard(apps, schema_editor)


def fill(apps, schema_editor):
    rows = apps.get_model("bench", "Reading").objects.all()
    rows.filter(outcome="in band").update(confirms=True)
    close = rows.filter(outcome="too close to call", true_value__isnull=False).annotate(size=Abs("true_value"))
    above = Q(low__isnull=True) | Q(true_value__gte=F("low"))
    by_size = Q(low__isnull=True, high__gt=0, size__lte=F("high"))
    below = Q(high__isnull=True) | Q(low__isnull=False, true_value__lte=F("high")) | by_size
    ids = list(close.filter(above & below).values_list("pk", flat=True))
    for start in range(0, len(ids), 500):
        rows.filter(pk__in=ids[start : start + 500]).update(confirms=True)


class Migration(migrations.Migration):
    dependencies = [("bench", "0013_check_status")]
    operations = [
        migrations.AddField("reading", "confirms", models.BooleanField(default=False)),
        migrations.AddField("reading", "below_range", models.BooleanField(default=False)),
        migrations.RunPython(guard_again, guard_again),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
