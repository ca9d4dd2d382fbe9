from django.db import migrations, models


class Migration(migrations.Migration):
    """The point's row is frozen as a whole, and a nullable column leaves SQLite's triggers where they are."""

    dependencies = [("guides", "0015_kit_roles")]

    operations = [migrations.AddField("point", "places", models.JSONField(blank=True, null=True))]
