from django.db import migrations, models


class Migration(migrations.Migration):
    """The stage's row is frozen as a whole, and a nullable column leaves SQLite's triggers where they are."""

    dependencies = [("guides", "0005_freeze_figures")]

    operations = [migrations.AddField("stage", "settings", models.JSONField(blank=True, null=True))]
