from django.db import migrations, models
from django.db.models import OuterRef, Subquery


def copy(apps, _schema):
    """From the readings that the standings stand on."""
    latest = apps.get_model("bench", "Reading").objects.filter(pk=OuterRef("latest_id"))
    apps.get_model("bench", "Standing").objects.update(
        at_reference=Subquery(latest.values("at_reference")[:1]), u=Subquery(latest.values("u")[:1])
    )


class Migration(migrations.Migration):
    dependencies = [
        ("bench", "0011_merged_snags"),
    ]

    operations = [
        migrations.AddField(
            model_name="standing",
            name="at_reference",
            field=models.FloatField(null=True),
        ),
        migrations.AddField(
            model_name="standing",
            name="u",
            field=models.FloatField(default=0),
        ),
        migrations.RunPython(copy, migrations.RunPython.noop),
    ]
