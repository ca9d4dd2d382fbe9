"""Migrations 0001 to 0003 in one, for a new database: what they leave, without the way there."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from builds.create_models import CreateModels


class Migration(migrations.Migration):
    replaces = [
        ("notifications", "0001_initial"),
        ("notifications", "0002_state_labels"),
        ("notifications", "0003_next_attempt"),
    ]

    initial = True

    dependencies = [
        ("accounts", "__first__"),
    ]

    operations = [
        CreateModels(
            [
                migrations.CreateModel(
                    name="Email",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("key", models.CharField(max_length=80)),
                        ("subject", models.CharField(max_length=200)),
                        ("body", models.TextField()),
                        (
                            "state",
                            models.CharField(
                                choices=[
                                    ("waiting", "waiting"),
                                    ("sending", "sending"),
                                    ("sent", "sent"),
                                    ("failed", "not sent"),
                                ],
                                default="waiting",
                                max_length=8,
                            ),
                        ),
                        ("attempts", models.PositiveSmallIntegerField(default=0)),
                        ("error", models.CharField(blank=True, max_length=300)),
                        ("made_at", models.DateTimeField(default=django.utils.timezone.now)),
                        ("taken_at", models.DateTimeField(null=True)),
                        ("next_at", models.DateTimeField(null=True)),
                        ("sent_at", models.DateTimeField(null=True)),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="letters",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "db_table": "post_letter",
                        "ordering": ["-made_at", "-pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("person"), models.F("key"), name="one_letter_a_key")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Notification",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        ("key", models.CharField(max_length=60)),
                        ("words", models.CharField(max_length=300)),
                        ("path", models.CharField(max_length=200)),
                        ("at", models.DateTimeField(default=django.utils.timezone.now)),
                        (
                            "letter",
                            models.ForeignKey(
                                null=True,
                                on_delete=django.db.models.deletion.SET_NULL,
                                related_name="news",
                                to="notifications.email",
                            ),
                        ),
                        (
                            "person",
                            models.ForeignKey(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="news",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "db_table": "post_news",
                        "ordering": ["at", "pk"],
                        "constraints": [
                            models.UniqueConstraint(models.F("person"), models.F("key"), name="one_news_a_key")
                        ],
                    },
                ),
                migrations.CreateModel(
                    name="Preference",
                    fields=[
                        (
                            "id",
                            models.BigAutoField(
                                auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                            ),
                        ),
                        (
                            "when",
                            models.CharField(
                                choices=[
                                    ("at once", "urgent messages at once, the rest once a day"),
                                    ("daily", "everything once a day"),
                                    ("never", "no e-mail"),
                                ],
                                default="at once",
                                max_length=8,
                            ),
                        ),
                        (
                            "person",
                            models.OneToOneField(
                                on_delete=django.db.models.deletion.CASCADE,
                                related_name="notification_preference",
                                to=settings.AUTH_USER_MODEL,
                            ),
                        ),
                    ],
                    options={
                        "db_table": "post_mailwish",
                    },
                ),
            ]
        ),
    ]
