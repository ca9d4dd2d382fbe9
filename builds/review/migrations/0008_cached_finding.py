import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("review", "0007_change_lists_stay")]

    operations = [
        migrations.AlterModelTable(name="KeptFinding", table="review_keptfinding"),
        migrations.RenameModel(old_name="KeptFinding", new_name="CachedFinding"),
        migrations.AlterField(
            model_name="cachedfinding",
            name="check_row",
            field=models.OneToOneField(
                db_column="check_id",
                on_delete=django.db.models.deletion.CASCADE,
                related_name="cached_finding",
                to="guides.check",
            ),
        ),
    ]
