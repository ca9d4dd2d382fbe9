"""Migrations 0001 to 0002 in one, for a new database: what they leave, without the way there."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from builds.create_models import CreateModels


class Migration(migrations.Migration):
    replaces = [
        ("operations", "0001_initial"),
        ("operations", "0002_access_tokens"),
    ]

    initial = True

    dependencies = [
        ("accounts", "__first__"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Run",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("kind", models.CharField(max_length=20, unique=True)),
                        ("at", models.DateTimeField()),
                        ("result", models.JSONField(default=dict)),
                    ],
                ),
                migrations.CreateModel(
                    name="AccessToken",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("name", models.CharField(max_length=60)),
                        ("token_hash", models.CharField(max_length=64, unique=True)),
                        ("scopes", models.JSONField(default=list)),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("expires_at", models.DateTimeField()),
                        ("withdrawn_at", models.DateTimeField(null=True)),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="access_tokens",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "ordering": ["-made_at"],
                    },
                ),
            ]
        ),
    ]
