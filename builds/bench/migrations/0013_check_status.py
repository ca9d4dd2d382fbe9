import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("bench", "0012_standing_figures")]

    operations = [
        migrations.AlterModelTable(name="Standing", table="bench_standing"),
        migrations.RenameModel(old_name="Standing", new_name="CheckStatus"),
        migrations.AlterField(
            model_name="checkstatus",
            name="build",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="statuses", to="bench.build"
            ),
        ),
        migrations.AlterField(
            model_name="checkstatus",
            name="check_row",
            field=models.ForeignKey(
                db_column="check_id",
                on_delete=django.db.models.deletion.PROTECT,
                related_name="statuses",
                to="guides.check",
            ),
        ),
    ]
