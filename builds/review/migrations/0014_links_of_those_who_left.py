"""Links for builds that nobody has taken on end where their maker may no longer change the kit."""

from django.db import migrations
from django.utils import timezone


def end_them(apps, schema_editor):
    builds = apps.get_model("bench", "Build").objects.filter(
        builder=None, invitation__used_at=None, invitation__revoked_at=None, invitation__made_by__isnull=False
    )
    roles = apps.get_model("guides", "KitRole").objects
    for build in builds.select_related("invitation", "revision__kit"):
        kit, maker = build.revision.kit, build.invitation.made_by_id
        stays = kit.designers.filter(pk=maker).exists()
        if not stays or roles.filter(kit=kit, person=maker, role="reader").exists():
            build.invitation.revoked_at = timezone.now()
            build.invitation.save(update_fields=["revoked_at"])


class Migration(migrations.Migration):
    dependencies = [
        ("review", "0013_cached_correlations"),
        ("accounts", "0006_confirmed_addresses"),
        ("bench", "0034_marks_of_recordings"),
        ("guides", "0022_offers_of_roles"),
    ]
    operations = [migrations.RunPython(end_them, migrations.RunPython.noop)]
