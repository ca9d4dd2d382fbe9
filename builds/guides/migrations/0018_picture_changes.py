"""Pictures are turned, cropped and marked. Both columns may be null, so that SQLite keeps the triggers that freeze
issued pictures."""

from django.db import migrations, models

import builds.guides.models.kits


class Migration(migrations.Migration):
    dependencies = [("guides", "0017_videos")]

    operations = [
        migrations.AddField("picture", "changes", models.JSONField(blank=True, editable=False, null=True)),
        migrations.AddField(
            "picture",
            "shown",
            models.FileField(editable=False, max_length=200, null=True, upload_to=builds.guides.models.kits.shown_path),
        ),
    ]
