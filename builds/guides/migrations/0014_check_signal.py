from django.db import migrations, models


class Migration(migrations.Migration):
    """The check's row is frozen as a whole, and a nullable column leaves SQLite's triggers where they are."""

    dependencies = [("guides", "0013_figure_sources")]

    operations = [migrations.AddField("check", "signal", models.JSONField(blank=True, null=True))]
