"""The browser story on a site of several machines: two web processes and a worker that share PostgreSQL and an object
store, and nothing else."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import quote

import pytest
from django.conf import settings as project
from django.core.files.storage import storages
from django.db import connection

from builds import environment
from builds.bench.models import Photo
from builds.jobs.models import Job
from tests.browser.test_story import (  # noqa: F401
    cleared_though_frozen,
    designer,
    photo,
    small_guide,
    test_from_guide_to_fault_summary,
)
from tests.builds.operations.store_server import object_store

pytestmark = [
    pytest.mark.browser,
    pytest.mark.concurrent,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor == "sqlite", reason="several machines share PostgreSQL"),
]
PATIENCE = 60  # s, before a process counts as dead: a busy machine is slow


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    with object_store(tmp_path_factory.mktemp("store")) as address:
        yield address


def database_url() -> str:
    at = connection.settings_dict
    password = f":{quote(at['PASSWORD'])}" if at["PASSWORD"] else ""
    return f"postgresql://{at['USER']}{password}@{at['HOST']}:{at['PORT'] or 5432}/{at['NAME']}"


@pytest.fixture
def live_server(own_files, transactional_db, store, tmp_path, settings):
    """In place of the server in this process. Each process has a folder of its own, as on a machine of its own."""
    settings.PASSWORD_HASHERS = ["builds.accounts.hashing.ModestArgon2"]  # as the site reads them
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    url = f"http://127.0.0.1:{port}"
    shared = {
        "DATABASE_URL": database_url(),
        "MEDIA_STORE_URL": store,
        "SECRET_KEY": "a key that all machines of this test have in common, 01",
        "SITE_URL": url,
        "TASKS": "queue",
    }
    running = []
    try:
        for text in (["serve", "--bind", f"127.0.0.1:{port}", "--processes", "2"], ["work"]):
            own = os.environ | shared | {"DATA_DIR": str(tmp_path / text[0])}
            log = (tmp_path / f"{text[0]}.log").open("wb")
            command = [sys.executable, str(project.BASE_DIR / "manage.py"), *text]
            running.append(subprocess.Popen(command, env=own, stdout=log, stderr=log))
            log.close()
        _wait_until_ready(url, running[0], tmp_path)
        nothing = SimpleNamespace(enable=lambda: None, disable=lambda: None)
        yield SimpleNamespace(url=url, _live_server_modified_settings=nothing, web=running[0])
    finally:
        for process in running:
            process.send_signal(signal.SIGTERM)
        for process in running:
            _end(process)


def _wait_until_ready(url: str, process: subprocess.Popen, folder) -> None:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until and process.poll() is None:
        try:
            if urllib.request.urlopen(f"{url}/readyz", timeout=5).status == 200:
                return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError((folder / "serve.log").read_text()[-2000:])


def _end(process: subprocess.Popen) -> None:
    try:
        process.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


@pytest.fixture(autouse=True)
def shared_by_all(cleared_though_frozen, live_server, store, monkeypatch, settings):  # noqa: F811
    """After the story: what was sent lies in the store, the worker did the work, and two processes served."""
    yield
    monkeypatch.setenv("MEDIA_STORE_URL", store)
    settings.STORAGES = settings.STORAGES | {"default": environment.media_store()}
    files = storages["default"]
    kept = [name for row in Photo.objects.all() for name in (row.full.name, row.thumb.name)]
    assert len(kept) >= 4 and all(files.exists(name) for name in kept)
    children = Path(f"/proc/{live_server.web.pid}/task/{live_server.web.pid}/children")
    assert not children.exists() or len(children.read_text().split()) == 2
    until = time.monotonic() + PATIENCE
    while Job.objects.exclude(state=Job.State.DONE).exists() and time.monotonic() < until:
        time.sleep(0.5)
    assert Job.objects.filter(state=Job.State.DONE).exists()
    assert not Job.objects.exclude(state=Job.State.DONE).exists()
