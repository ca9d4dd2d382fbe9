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
