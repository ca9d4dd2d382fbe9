"""Which meter and mains a build was measured with before its builder chose others."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("accounts", "0006_confirmed_addresses"), ("bench", "0035_erratum_figures")]

    operations = [
        migrations.CreateModel(
            name="PastBench",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("until", models.DateTimeField(default=django.utils.timezone.now)),
                ("mains_volts", models.PositiveSmallIntegerField()),
                ("mains_hertz", models.PositiveSmallIntegerField()),
                (
                    "build",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="past_benches", to="bench.build"
                    ),
                ),
                (
                    "meter",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="past_benches",
                        to="accounts.meter",
                    ),
                ),
            ],
            options={"ordering": ["until", "pk"]},
        )
    ]
