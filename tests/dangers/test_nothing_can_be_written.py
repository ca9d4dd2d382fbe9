"""The database is locked, read-only or its disk full: who measures past a stop limit still reads the order to switch
off, and everybody is told what was not saved."""

import errno
import re
import sqlite3
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import InternalError, OperationalError, connection
from django.test import Client
from django.urls import reverse

from builds.accounts import not_saved
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Photo, Reading, Snag, StageVisit
from builds.bench.photos.storage import stored_photos
from builds.operations.checkpoints import keep_log_open
from tests import factories
from tests.access.calls import image

pytestmark = pytest.mark.django_db
SCRIPTS_OWN = re.compile(r"<template.*?</template>", re.DOTALL)  # shown by nobody until a script does
ERRORS = [
    OperationalError("database is locked"),
    OperationalError("attempt to write a readonly database"),
    OperationalError("database or disk is full"),
    InternalError("cannot execute INSERT in a read-only transaction"),
    OSError(errno.ENOSPC, "No space left on device"),
]


@pytest.fixture
def build():
    revision = factories.make_revision(stages=1, gate=False)
    build = factories.make_build(revision=revision)
    sitting = open_sitting(build)
    acknowledge(sitting, revision.stages.first(), None)
    return build


@pytest.fixture(autouse=True)
def warned(monkeypatch):
    sent = []
    monkeypatch.setattr(not_saved, "_warned_at", [float("-inf")])
    monkeypatch.setattr(not_saved, "_send", sent.append)
    return sent


class NothingIsWritten:
    def __init__(self, error):
        self.error = error

    def __call__(self, execute, sql, params, many, context):
        if sql.lstrip().upper().startswith(("INSERT", "UPDATE", "DELETE")):
            raise self.error
        return execute(sql, params, many, context)


def post(client, build, typed, error, htmx=False):
    client.force_login(build.builder)
    url = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    data = {"typed": typed, "unit": "V", "entry_key": str(uuid4())}
    with connection.execute_wrapper(NothingIsWritten(error)):
        return client.post(url, data, headers={"HX-Request": "true"} if htmx else {})


@pytest.mark.parametrize("error", ERRORS, ids=str)
@pytest.mark.parametrize("htmx", [False, True])
def test_a_stop_is_ordered_though_it_cannot_be_saved(client, build, error, htmx, warned):
    answer = post(client, build, "500", error, htmx)
    page = answer.content.decode()
    assert answer.status_code == (409 if htmx else 503)  # a 409 takes the place of the whole page under htmx
    assert 'class="stop-word"' in page and 'id="not-saved"' in page
    assert page.index('class="stop-word"') < page.index('id="not-saved"')
    assert "500" in page
    assert not Reading.objects.exists()


def test_the_reading_that_was_not_saved_can_be_sent_again_as_it_was(client, build):
    page = post(client, build, "500", ERRORS[0]).content.decode()
    for name, value in (("typed", "500"), ("unit", "V"), ("entry_key", "")):
        assert f'name="{name}" value="{value}' in page


@pytest.mark.parametrize("error", ERRORS, ids=str)
def test_a_good_reading_that_cannot_be_saved_is_not_called_right(client, build, error):
    answer = post(client, build, "300", error)
    page = SCRIPTS_OWN.sub("", answer.content.decode())
    assert answer.status_code == 503
    assert 'id="not-saved"' in page and "stop-word" not in page
    assert not Reading.objects.exists()


def test_a_lock_that_is_soon_gone_loses_nothing(client, build):
    class Once(NothingIsWritten):
        def __call__(self, execute, sql, params, many, context):
            if self.error and sql.lstrip().upper().startswith("INSERT"):
                error, self.error = self.error, None
                raise error
            return execute(sql, params, many, context)

    client.force_login(build.builder)
    url = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    with connection.execute_wrapper(Once(ERRORS[0])):
        client.post(url, {"typed": "300", "unit": "V", "entry_key": str(uuid4())})
    assert Reading.objects.get().value == 300


def test_a_page_older_than_the_sign_in_says_to_switch_off_and_that_nothing_was_saved(build):
    """Its token is no longer valid, so that nothing of it may be believed, but whoever measured reads what to do."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(build.builder)
    url = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    answer = client.post(url, {"typed": "500", "unit": "V", "entry_key": str(uuid4())})
    assert answer.status_code == 403 and not Reading.objects.exists()
    page = answer.content.decode()
    assert "Switch off" in page and reverse("home") in page


def test_the_owner_is_warned_once(client, build, warned, settings):
    for _time in range(3):
        post(client, build, "500", ERRORS[2])
    assert len(warned) == 1 and "disk is full" in warned[0]


def test_a_snag_that_cannot_be_saved_leaves_no_photo_behind(client, build, settings):
    client.force_login(build.builder)
    url = reverse("bench:new-snag", args=[build.pk, "stage-1"])
    data = {"kind": "other", "severity": "danger", "words": "Smoke.", "entry_key": str(uuid4()), "photo": image()}
    with connection.execute_wrapper(NothingIsWritten(ERRORS[2])):
        answer = client.post(url, data)
    assert answer.status_code == 503
    assert "Nothing you sent was saved" in answer.content.decode()
    assert not Snag.objects.exists() and not Photo.objects.exists()
    assert not [path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file()]


def test_a_photo_is_decoded_before_the_database_is_held(client, build, monkeypatch):
    from builds.bench.photos import storage

    held, depth = [], len(connection.savepoint_ids)
    decode = storage.decode_photo

    def watched(file):
        held.append(len(connection.savepoint_ids) - depth)
        return decode(file)

    monkeypatch.setattr(storage, "decode_photo", watched)
    client.force_login(build.builder)
    data = {"kind": "other", "severity": "slowed", "words": "Look.", "entry_key": str(uuid4()), "photo": image()}
    client.post(reverse("bench:new-snag", args=[build.pk, "stage-1"]), data)
    assert Photo.objects.count() == 1
    assert held == [0]


def test_more_photos_than_the_process_has_places_for_are_asked_to_come_again(client, build, monkeypatch):
    from threading import BoundedSemaphore

    from builds.bench.photos import decoding

    full = BoundedSemaphore(1)
    full.acquire()
    monkeypatch.setattr(decoding, "_places", full)
    client.force_login(build.builder)
    data = {"entry_key": str(uuid4()), "photo": image()}
    answer = client.post(reverse("bench:add-stage-photo", args=[build.pk, "stage-1"]), data)
    assert answer.status_code == 422 and not Photo.objects.exists()


@pytest.mark.parametrize("error", ERRORS[:4], ids=str)
def test_a_stage_is_read_though_nothing_can_be_written(client, build, error, warned):
    client.force_login(build.builder)
    with connection.execute_wrapper(NothingIsWritten(error)):
        answer = client.get(reverse("bench:stage", args=[build.pk, "stage-1"]))
    assert answer.status_code == 200 and len(warned) == 1
    assert not StageVisit.objects.exists()


class NothingIsRead:
    """A database that no new connection can open: its disk is full, and SQLite finds no room for its index (-shm)."""

    def __call__(self, execute, sql, params, many, context):
        raise OperationalError("disk I/O error")


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_database_that_cannot_be_read_is_told_before_any_view(build, method, warned):
    """It breaks where the site asks who is signed in; whoever sent a reading hears that it may be lost."""
    client = Client(raise_request_exception=False)
    client.force_login(build.builder)
    with connection.execute_wrapper(NothingIsRead()):
        answer = getattr(client, method)(reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"]))
    assert answer.status_code == 503 and len(warned) == 1
    assert '<meta name="not-saved"' in answer.content.decode()


def test_a_full_disk_keeps_no_part_of_a_photo(client, build, settings, monkeypatch):
    saved = default_storage._save

    def begun(name, content):
        saved(name, ContentFile(b"\xff\xd8"))
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(default_storage, "_save", begun)
    with pytest.raises(OSError), stored_photos([image()], build):
        pass
    assert not [path for path in Path(settings.MEDIA_ROOT).rglob("*.jpg") if path.stat().st_size == 2]


def test_the_index_of_the_log_stays_while_a_process_serves(tmp_path, monkeypatch):
    """SQLite makes it with the first connection, which a full disk refuses (sqlite.org/wal.html, section 2.3)."""
    path = tmp_path / "site.sqlite3"
    made = sqlite3.connect(path)
    made.executescript("PRAGMA journal_mode=WAL; CREATE TABLE reading (typed TEXT);")
    made.close()
    monkeypatch.setitem(connection.settings_dict, "NAME", str(path))
    monkeypatch.setattr(connection, "vendor", "sqlite")
    held = keep_log_open()
    sqlite3.connect(path).close()
    assert (tmp_path / "site.sqlite3-shm").exists()
    held.close()
    assert not (tmp_path / "site.sqlite3-shm").exists()


@pytest.mark.parametrize(
    ("sent", "room", "said"),
    [
        (1, 0, "Nothing you sent was saved"),
        (1, 1, "Your photo was saved."),
        (3, 0, "Nothing you sent was saved"),
        (3, 2, "2 of your 3 photos were saved"),
        (3, 3, "Your 3 photos were saved."),
    ],
)
def test_a_disk_that_fills_up_among_photos_says_how_many_are_saved(client, build, monkeypatch, sent, room, said):
    """The last of a case with as much room as photos: what fails is written after them."""
    from builds.bench.photos import storage
    from builds.bench.views import photos as page

    save, kept = storage.save_photo, []

    def save_until_full(file, **place):
        if len(kept) == room:
            raise OSError(errno.ENOSPC, "No space left on device")
        kept.append(save(file, **place))
        return kept[-1]

    def fail(*_anything):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(storage, "save_photo", save_until_full)
    monkeypatch.setattr(page.receipts, "record", fail)
    client.force_login(build.builder)
    data = {"entry_key": str(uuid4()), "photo": [image(size=(20 + n, 20)) for n in range(sent)]}
    answer = client.post(reverse("bench:add-stage-photo", args=[build.pk, "stage-1"]), data)
    assert answer.status_code == 503 and said in answer.content.decode()
    assert Photo.objects.count() == room
