"""Fixtures that all tests share."""

import os

import pytest

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's loop and Django's checks


@pytest.fixture(autouse=True)
def own_files(request, settings, tmp_path, monkeypatch):
    """Photos of a test go to its own folder; passwords are hashed quickly; background work is done at once."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
    mark = request.node.get_closest_marker("django_db")
    if mark and not mark.kwargs.get("transaction"):
        monkeypatch.setattr("builds.jobs.queue.on_commit", lambda work: work())  # such a test never commits
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


def pytest_configure(config):
    config.addinivalue_line("markers", "browser: needs Chromium")


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    path = os.environ.get("CHROMIUM", "/usr/bin/chromium")
    return {
        **browser_type_launch_args,
        "executable_path": path,
        "headless": True,
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    }
