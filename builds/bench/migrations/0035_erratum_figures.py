"""An erratum may carry the figures that hold of its check from then on."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("bench", "0034_marks_of_recordings"), ("guides", "0023_corrected_figures")]

    operations = [
        migrations.AddField(
            "erratum",
            "correction",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.RESTRICT,
                related_name="errata",
                to="guides.figurecorrection",
            ),
        )
    ]
