from django.db import migrations, models


class Migration(migrations.Migration):
    """The check's row is frozen as a whole, and a nullable column leaves SQLite's triggers where they are."""

    dependencies = [("guides", "0019_input_sensitivity")]

    operations = [migrations.AddField("check", "read_with", models.CharField(blank=True, max_length=30, null=True))]
