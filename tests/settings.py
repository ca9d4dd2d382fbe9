"""What a test changes of the site's settings, so that it is quick and leaves nothing behind."""

from pathlib import Path

NEVER_COMMITS = ("builds.jobs.queue.on_commit", lambda work: work())  # of a test that is rolled back


def quick(media: Path) -> dict:
    """Settings for a test whose files go to `media`: cheap hashing, and background work done at once."""
    immediate = "django_tasks.backends.immediate.ImmediateBackend"
    return {
        "MEDIA_ROOT": media,
        "TASKS": {"default": {"BACKEND": immediate, "QUEUES": ["default", "mail"]}},
        "PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"],
    }


def quick_database(settings_dict: dict) -> None:
    """A test's SQLite outlives no power cut, so nothing waits for the disk.

    Rows that no `ORDER BY` asks for come in the other order than they were stored in: a page that counts on the
    order of an unordered query fails here already, and not first on another database.
    """
    if settings_dict["ENGINE"].endswith("sqlite"):
        settings_dict["OPTIONS"]["init_command"] += (
            "; PRAGMA synchronous=OFF; PRAGMA temp_store=MEMORY; PRAGMA reverse_unordered_selects=ON"
        )
