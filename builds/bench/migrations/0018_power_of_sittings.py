"""The last power of each session, as it was kept until now, becomes a row of the record of power."""

from django.db import migrations


def copy(apps, schema_editor):
    sittings = apps.get_model("bench", "Sitting").objects.exclude(power_began_at=None).select_related("build")
    power_on = apps.get_model("bench", "PowerOn")
    for sitting in sittings.iterator():
        power_on.objects.create(build=sitting.build, by_id=sitting.build.builder_id, at=sitting.power_began_at)


def copy_back(apps, schema_editor):
    sittings = apps.get_model("bench", "Sitting").objects
    for row in apps.get_model("bench", "PowerOn").objects.order_by("at"):
        latest = sittings.filter(build=row.build_id, begun_at__lte=row.at).order_by("begun_at").last()
        if latest:
            sittings.filter(pk=latest.pk).update(power_began_at=row.at)


class Migration(migrations.Migration):
    dependencies = [("bench", "0017_power_on")]
    operations = [
        migrations.RunPython(copy, copy_back),
    ]
