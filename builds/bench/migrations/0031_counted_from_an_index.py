"""The counts of a revision's checks are read from an index alone."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("bench", "0030_fast_track"),
        ("guides", "0017_videos"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="checkstatus",
            name="standing_by_check",
        ),
        migrations.AddIndex(
            model_name="checkstatus",
            index=models.Index(
                fields=["check_row", "first_outcome", "latest", "attempts", "passed"], name="statuses_counted"
            ),
        ),
    ]
