"""Readings and meter checks keep the code and the figures of what they say; the sentences are made when they are shown.

Old rows are converted as far as their columns go: a stop's limit is taken from the guide.
"""

from importlib import import_module

from django.db import migrations, models

from checks.errors import ChecksError
from checks.outcomes import Outcome, Reason
from checks.quantity import parse_quantity

BATCH = 500


def convert_readings(apps, schema_editor):
    model = apps.get_model("bench", "Reading")
    ids = list(model.objects.order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(ids), BATCH):
        rows = list(model.objects.filter(pk__in=ids[start : start + BATCH]).select_related("check_row"))
        for row in rows:
            row.reason, limit, value = reason_of(row)
            row.params = {"value": value, "limit": limit, "u": row.u}
        model.objects.bulk_update(rows, ["reason", "params"])


def reason_of(row):
    """(reason, limit, value) of an old row."""
    value = row.true_value
    if row.outcome == Outcome.SWITCH_OFF:
        return _stop(row)
    if row.outcome == Outcome.IN_BAND:
        if row.low is None and row.high is None:
            return Reason.NO_FIGURE.value, None, value
        return (Reason.OVER_RANGE_WANTED if row.over_range else Reason.WITHIN).value, None, value
    if value is None:
        return Reason.OVER_RANGE.value, row.high, None
    ends = [end for end in (row.low, row.high) if end is not None]
    limit = min(ends, key=lambda end: abs(value - end)) if ends else None
    if row.outcome == Outcome.TOO_CLOSE:
        return Reason.CLOSE.value, limit, value
    return (Reason.HIGH if limit is not None and limit == row.high else Reason.LOW).value, limit, value


def _stop(row):
    unit = {"dc volts": "V", "ac volts": "V", "current": "A", "temperature": "°C", "frequency": "Hz"}
    above, below = (_limit(text, unit.get(row.check_row.measure, "Ω")) for text in _stops_of(row.check_row))
    if row.over_range:
        return Reason.STOP_OVER_RANGE.value, above, None
    value = row.true_value if row.check_row.through else row.value
    if below is not None and value < below:
        return Reason.STOP_BELOW.value, below, value
    if above is not None and value < -above:
        return Reason.STOP_SWAPPED.value, above, value
    return Reason.STOP_ABOVE.value, above, value


def _stops_of(check):
    return check.stop_above, check.stop_below


def _limit(text, unit):
    try:
        return parse_quantity(text, unit).value if text else None
    except ChecksError:
        return None


def convert_meter_checks(apps, schema_editor):
    for row in apps.get_model("bench", "MeterCheck").objects.select_related("part"):
        true = _limit(row.part.value, "Ω" if row.part.kind == "test resistor" else "V")
        if row.error is not None and true:
            row.params = {"value": true * (1 + row.error), "true": true, "off": row.error, "allowed": None}
            row.save(update_fields=["params"])


def guard_again(apps, schema_editor):
    """SQLite makes a changed table anew, and the trigger that keeps readings as they are goes with the old one."""
    import_module("builds.bench.migrations.0014_confirming_readings").guard_again(apps, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("bench", "0014_confirming_readings")]
    operations = [
        migrations.AddField("reading", "reason", models.CharField(blank=True, max_length=20)),
        migrations.AddField("reading", "params", models.JSONField(blank=True, default=dict)),
        migrations.AddField("metercheck", "params", models.JSONField(blank=True, default=dict)),
        migrations.RunPython(convert_readings, migrations.RunPython.noop),
        migrations.RunPython(convert_meter_checks, migrations.RunPython.noop),
        migrations.RemoveField("reading", "words"),
        migrations.RemoveField("metercheck", "words"),
        migrations.RunPython(guard_again, guard_again),
    ]
