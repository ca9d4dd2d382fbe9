from django.db import migrations, models


class Migration(migrations.Migration):
    """Stages and steps are frozen as whole rows, and a nullable column leaves SQLite's triggers where they are."""

    dependencies = [("guides", "0016_point_places")]

    operations = [
        migrations.AddField("stage", "video", models.JSONField(blank=True, null=True)),
        migrations.AddField("step", "video", models.JSONField(blank=True, null=True)),
    ]
