"""Whether the site is alive and ready, its figures for whoever watches it, and its status for whoever runs it."""

import os
import shutil
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from builds.accounts.models import Person
from builds.bench.models import Build, Photo, Reading
from builds.jobs.models import Job
from builds.notifications.models import NO_ADDRESS, UNCONFIRMED, Email
from builds.notifications.sending import MOST_ATTEMPTS
from builds.operations.models import Run

LEAST_FREE = 500 * 2**20  # bytes


def find_problems() -> list[str]:
    """Codes of what keeps the site from serving; empty when it is ready."""
    codes = []
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            codes.append("migrations-missing")
    except Exception:
        codes.append("database")
    if not os.access(settings.DATA_DIR, os.W_OK):
        codes.append("storage-read-only")
    if shutil.disk_usage(settings.DATA_DIR).free < LEAST_FREE:
        codes.append("storage-full")
    return codes


@dataclass(frozen=True)
class Status:
    jobs: dict[str, int]
    oldest_waiting: timedelta | None
    mail: dict[str, int]
    mail_given_up: int
    free: int
    used: int
    backup: Run | None
    upkeep: Run | None


def status() -> Status:
    waiting = Job.objects.filter(state=Job.State.WAITING, not_before=None).order_by("made_at").first()
    disk = shutil.disk_usage(settings.DATA_DIR)
    failed = Email.objects.filter(state=Email.State.FAILED).exclude(error__in=(NO_ADDRESS, UNCONFIRMED))
    return Status(
        _counted(Job, "state"),
        timezone.now() - waiting.seen_at if waiting else None,
        _counted(Email, "state"),
        failed.filter(attempts__gte=MOST_ATTEMPTS).count(),
        disk.free,
        _database_bytes(),
        Run.last("backup"),
        Run.last("daily"),
    )


def _counted(model, field: str) -> dict[str, int]:
    from django.db.models import Count

    return dict(model.objects.order_by().values_list(field).annotate(Count("pk")))


def _database_bytes() -> int:
    if connection.vendor != "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_database_size(current_database())")
            return cursor.fetchone()[0]
    name = Path(str(settings.DATABASES["default"]["NAME"]))
    return sum(path.stat().st_size for path in (name, Path(f"{name}-wal")) if path.exists())


def metrics() -> str:
    """The figures in the text format that OpenMetrics lays down (version 1.0.0)."""
    now = status()
    lines = [
        *_gauge("kit_builds_people", "People with an account", Person.objects.filter(is_active=True).count()),
        *_gauge("kit_builds_builds", "Builds", Build.objects.count()),
        *_gauge("kit_builds_readings", "Readings", Reading.objects.count()),
        *_gauge("kit_builds_photos", "Photos", Photo.objects.count()),
        *_gauge("kit_builds_jobs", "Background jobs by state", now.jobs, "state"),
        *_gauge("kit_builds_emails", "E-mails by state", now.mail, "state"),
        *_gauge("kit_builds_oldest_job_seconds", "Age of the oldest waiting job", _seconds(now.oldest_waiting)),
        *_gauge("kit_builds_database_bytes", "Size of the database", now.used),
        *_gauge("kit_builds_free_bytes", "Space left for data", now.free),
        *_gauge("kit_builds_last_backup_seconds", "When the last backup ended", _moment(now.backup)),
    ]
    return "\n".join([*lines, "# EOF", ""])


def _gauge(name: str, text: str, value, label: str = "") -> list[str]:
    rows = [f'{name}{{{label}="{key}"}} {count}' for key, count in value.items()] if label else [f"{name} {value}"]
    return [f"# TYPE {name} gauge", f"# HELP {name} {text}.", *rows]


def _seconds(age: timedelta | None) -> float:
    return age.total_seconds() if age else 0


def _moment(run: Run | None) -> float:
    return run.at.timestamp() if run else 0
