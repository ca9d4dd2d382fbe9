"""Who missed a check is kept with its finding, and correlations are kept too; what was kept without is worked out
anew."""

import django.db.models.deletion
from django.db import migrations, models


def forget(apps, schema_editor):
    apps.get_model("review", "CachedFinding").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [
        ("guides", "0017_videos"),
        ("review", "0012_decision_basis"),
    ]

    operations = [
        migrations.RunPython(forget, migrations.RunPython.noop),
        migrations.AddField(
            model_name="cachedfinding",
            name="misses",
            field=models.JSONField(default=list),
        ),
        migrations.CreateModel(
            name="CachedCorrelations",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("token", models.CharField(max_length=64)),
                ("examined", models.JSONField()),
                (
                    "check_row",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="cached_correlations",
                        to="guides.check",
                    ),
                ),
            ],
        ),
    ]
