"""Migrations 0001 to 0003 in one, for a new database: what they leave, without the way there."""

import django.utils.timezone
from django.db import migrations, models

from builds.create_models import CreateModels


class Migration(migrations.Migration):
    replaces = [
        ("jobs", "0001_initial"),
        ("jobs", "0002_resumed"),
        ("jobs", "0003_step_as_code"),
    ]

    initial = True

    dependencies = []

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Job",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("kind", models.CharField(max_length=30)),
                        ("key", models.CharField(max_length=100)),
                        ("args", models.JSONField(default=list)),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("waiting", "Waiting"),
                                    ("running", "Running"),
                                    ("done", "Done"),
                                    ("failed", "Failed"),
                                ],
                                default="waiting",
                                max_length=8,
                            ),
                        ),
                        ("done", models.PositiveIntegerField(default=0)),
                        ("total", models.PositiveIntegerField(default=0)),
                        ("step", models.JSONField(blank=True, default=dict)),
                        ("result", models.JSONField(null=True)),
                        ("error", models.CharField(blank=True, max_length=500)),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("started_at", models.DateTimeField(null=True)),
                        ("seen_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("ended_at", models.DateTimeField(null=True)),
                        ("resumed", models.PositiveSmallIntegerField(default=0)),
                    ],
                    options={
                        "constraints": [
                            models.UniqueConstraint(models.F("kind"), models.F("key"), name="one_job_a_key")
                        ],
                    },
                ),
            ]
        ),
    ]
