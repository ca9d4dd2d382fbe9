"""A backup made while the site serves comes back whole: the drill that every backup is for."""

import io
import os
import sqlite3
import subprocess
import sys
import tarfile
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest
from django.conf import settings as project
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection

from builds.bench.models import Photo
from builds.bench.photos.storage import save_photo
from builds.operations import backup, doctor
from builds.operations.models import Run
from tests import factories
from tests.access.calls import image
from tests.clearing import clear_though_frozen

pytestmark = pytest.mark.django_db(transaction=True)
is_sqlite = connection.vendor == "sqlite"
sqlite_only = pytest.mark.skipif(not is_sqlite, reason="of an SQLite file")
postgresql_only = pytest.mark.skipif(is_sqlite, reason="of a PostgreSQL database")


@pytest.fixture
def build():
    yield _build()
    clear_though_frozen()


def _build():
    build = factories.make_build()
    factories.add_reading(build=build, check=factories.checks_of(revision=build.revision)[0])
    save_photo(image(), build=build, stage=build.revision.stages.first())
    return build


@pytest.mark.lengthy
@sqlite_only
def test_the_drill_a_backup_is_restored_and_served_from(build, tmp_path):
    """The restored folder is opened by the site's own commands, in a process of its own."""
    call_command("backup", tmp_path / "kept", verbosity=0)
    (made,) = backup.all_in(tmp_path / "kept")
    call_command("restore", made, into=tmp_path / "new", verbosity=0)
    environment = {**os.environ, "DATA_DIR": str(tmp_path / "new"), "DJANGO_SETTINGS_MODULE": "builds.settings"}
    environment.pop("DATABASE_URL", None)
    manage = [sys.executable, str(project.BASE_DIR / "manage.py")]
    said = subprocess.run([*manage, "doctor"], env=environment, capture_output=True, text=True)
    assert said.returncode == 0, said.stdout + said.stderr
    with sqlite3.connect(tmp_path / "new" / "builds.sqlite3") as restored:
        assert restored.execute("SELECT count(*) FROM bench_reading").fetchone() == (1,)
        assert restored.execute("SELECT count(*) FROM django_session").fetchone() is not None
    photo = Photo.objects.get()
    assert (tmp_path / "new" / "media" / photo.thumb.name).read_bytes() == photo.thumb.read()
    assert Run.last("backup").result["name"] == made.name


@pytest.fixture
def empty():
    """The address of an empty database beside that of the tests."""
    expected = connection.settings_dict
    name = f"{expected['NAME']}_restored"
    with connection.cursor() as cursor:
        cursor.execute(f'DROP DATABASE IF EXISTS "{name}"')
        cursor.execute(f'CREATE DATABASE "{name}"')
    who = quote(expected["USER"]) + (f":{quote(expected['PASSWORD'])}" if expected["PASSWORD"] else "")
    yield f"postgresql://{who}@{expected['HOST']}:{expected['PORT']}/{name}"
    with connection.cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@postgresql_only
def test_the_drill_on_postgresql_a_backup_is_restored_and_served_from(build, empty, tmp_path):
    call_command("backup", tmp_path / "kept", verbosity=0)
    (made,) = backup.all_in(tmp_path / "kept")
    environment = {**os.environ, "DATA_DIR": str(tmp_path / "new"), "DJANGO_SETTINGS_MODULE": "builds.settings"}
    (tmp_path / "new").mkdir()

    def manage(*text):
        command = [sys.executable, str(project.BASE_DIR / "manage.py"), *text]
        return subprocess.run(command, env=environment | {"DATABASE_URL": empty}, capture_output=True, text=True)

    restored = manage("restore", str(made), "--into", str(tmp_path / "new"))
    assert restored.returncode == 0, restored.stderr[-2000:]
    said = manage("doctor")
    assert said.returncode == 0, said.stdout + said.stderr
    with psycopg.connect(empty) as result:
        assert result.execute("SELECT typed FROM bench_reading").fetchall() == [("300",)]
        with pytest.raises(psycopg.errors.IntegrityError):  # what is frozen is frozen there too
            result.execute("UPDATE bench_reading SET typed = '1'")
    photo = Photo.objects.get()
    assert (tmp_path / "new" / "media" / photo.thumb.name).read_bytes() == photo.thumb.read()
    again = manage("restore", str(made), "--into", str(tmp_path / "other"))
    assert again.returncode and "already has tables" in again.stderr
    assert not (tmp_path / "other" / "media").exists()


@pytest.mark.lengthy
@sqlite_only
def test_a_backup_of_postgresql_is_not_restored_into_sqlite(build, tmp_path):
    made = backup.make(tmp_path / "kept", 3)
    (made / backup.SQLITE).rename(made / backup.POSTGRESQL)
    (made / backup.SUMS).write_text((made / backup.SUMS).read_text().replace(backup.SQLITE, backup.POSTGRESQL))
    with pytest.raises(CommandError, match="empty one"):
        call_command("restore", made, into=tmp_path / "new")
    assert not (tmp_path / "new" / "media").exists()


def entry(name: str, kind: bytes = tarfile.REGTYPE, link: str = "") -> tarfile.TarInfo:
    made = tarfile.TarInfo(name)
    made.type, made.linkname = kind, link
    return made


@pytest.mark.lengthy
@pytest.mark.parametrize(
    "way_out",
    [
        entry("../../evil.jpg"),
        entry("/tmp/../etc/evil.jpg", tarfile.SYMTYPE, "/etc/passwd"),
        entry("photos/evil.jpg", tarfile.SYMTYPE, "../../../etc/passwd"),
        entry("photos/evil.jpg", tarfile.LNKTYPE, "../builds.sqlite3"),
        entry("photos/evil.jpg", tarfile.FIFOTYPE),
        entry("photos/evil.jpg", tarfile.CHRTYPE),
    ],
    ids=["parent", "link from the root", "link", "hard link", "pipe", "device"],
)
def test_media_with_a_way_out_of_their_folder_are_refused_and_nothing_is_written(build, tmp_path, way_out):
    """With the right checksum, as somebody makes it who wants to do harm."""
    made = backup.make(tmp_path / "kept", 3)
    before = backup._digest(made / backup.MEDIA)
    with tarfile.open(made / backup.MEDIA, "a") as archive:
        archive.addfile(way_out)
    sums = (made / backup.SUMS).read_text()
    (made / backup.SUMS).write_text(sums.replace(before, backup._digest(made / backup.MEDIA)))
    with pytest.raises(CommandError, match=backup.MEDIA):
        call_command("restore", made, into=tmp_path / "new")
    assert not (tmp_path / "new").exists() and not [*tmp_path.rglob("evil*")]


@pytest.mark.lengthy
@sqlite_only
def test_a_disk_that_is_full_while_the_database_is_copied_is_said_and_leaves_nothing(build, tmp_path, monkeypatch):
    """What SQLite says is raised by the framework as its own error."""

    def full(folder):
        (folder / backup.SQLITE).write_bytes(b"half")
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(backup, "_dump_database", full)
    with pytest.raises(CommandError, match="disk is full"):
        call_command("backup", tmp_path / "kept")
    assert not [*(tmp_path / "kept").iterdir()]


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["database", "media.tar", "settings.json"])
def test_a_damaged_backup_is_refused_and_nothing_is_written(build, tmp_path, name):
    made = backup.make(tmp_path / "kept", 3)
    name = (backup.SQLITE if is_sqlite else backup.POSTGRESQL) if name == "database" else name
    content = bytearray((made / name).read_bytes())
    content[len(content) // 2] ^= 0xFF
    (made / name).write_bytes(content)
    with pytest.raises(CommandError):
        call_command("restore", made, into=tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.lengthy
@pytest.mark.parametrize("cut", [1, 60, 70, 150])
def test_a_list_of_sums_that_is_cut_off_vouches_for_nothing(build, tmp_path, cut):
    """A copy that broke off: what is on the list is whole, and the photos are not on it."""
    made = backup.make(tmp_path / "kept", 3)
    lines = (made / backup.SUMS).read_text()
    (made / backup.SUMS).write_text(lines[: cut if cut < 150 else lines.index("\n") + 1])
    (made / backup.MEDIA).unlink()
    with pytest.raises(CommandError, match=backup.SUMS):
        call_command("restore", made, check=True)
    with pytest.raises(CommandError):
        call_command("restore", made, into=tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.lengthy
def test_a_backup_is_never_restored_over_data(build, tmp_path):
    made = backup.make(tmp_path / "kept", 3)
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "builds.sqlite3").write_text("precious")
    with pytest.raises(CommandError):
        call_command("restore", made, into=tmp_path / "new")
    assert (tmp_path / "new" / "builds.sqlite3").read_text() == "precious"


@pytest.mark.lengthy
@sqlite_only
@pytest.mark.parametrize("left", ["builds.sqlite3-wal", "builds.sqlite3-shm", "builds.sqlite3-journal"])
def test_a_backup_is_never_restored_beside_the_log_of_another_database(build, tmp_path, left):
    made = backup.make(tmp_path / "kept", 1)
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / left).write_bytes(b"x")
    with pytest.raises(backup.BackupError, match="empty folder"):
        backup.restore(made, tmp_path / "new")


def test_a_photo_withdrawn_while_the_backup_is_made_does_not_spoil_it(build, tmp_path, monkeypatch):
    gone = Photo.objects.get().thumb.name

    def names():
        yield gone
        yield Photo.objects.get().full.name

    monkeypatch.setattr(backup.stored_files, "names", names)
    default_storage.delete(gone)
    made = backup.make(tmp_path / "kept", 1)
    with tarfile.open(made / "media.tar") as archive:
        assert archive.getnames() == [Photo.objects.get().full.name]


def test_a_place_where_no_backup_can_be_is_said_in_words(build, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="could not be made"):
        call_command("backup", tmp_path / "file" / "kept")
    with pytest.raises(CommandError, match="not a backup"):
        call_command("restore", tmp_path / "none", check=True)


@pytest.mark.lengthy
def test_the_newest_backups_are_kept(build, tmp_path):
    made = [backup.make(tmp_path, 2) for _n in range(3)]
    assert backup.all_in(tmp_path) == made[1:]


def test_no_secret_is_in_a_backups_settings(build, tmp_path, monkeypatch):
    secrets = {"SECRET_KEY": "s" * 50, "EMAIL_URL": "smtp://u:pass1@h", "METRICS_TOKEN": "tok1", "DATABASE_URL": "pw1"}
    for name, value in {**secrets, "TIME_ZONE": "UTC"}.items():
        monkeypatch.setenv(name, value)
    text = (backup.make(tmp_path, 1) / "settings.json").read_text()
    assert "TIME_ZONE" in text and not any(value in text for value in secrets.values())


@pytest.mark.lengthy
def test_the_doctor_finds_and_mends_files_that_no_row_knows(build, tmp_path):
    default_storage.save("photos/1/lost.jpg", image())
    lost = Path(project.MEDIA_ROOT) / "photos/1/lost.jpg"
    assert doctor.examine().orphans == []  # its post may be under way
    os.utime(lost, (1, 1))
    assert doctor.examine().orphans == ["photos/1/lost.jpg"]
    call_command("doctor", mend=True, verbosity=0, stdout=io.StringIO())
    assert not lost.exists() and doctor.examine().is_well
    assert default_storage.exists(Photo.objects.get().full.name)


def test_the_doctor_says_which_file_is_missing(build):
    name = Photo.objects.get().full.name
    default_storage.delete(name)
    assert doctor.examine().missing == [name]
    with pytest.raises(CommandError):
        call_command("doctor", verbosity=0, stdout=io.StringIO())


@sqlite_only
def test_only_one_process_folds_the_log_back(build, settings, tmp_path):
    import fcntl

    from builds.operations.checkpoints import checkpoint

    settings.DATA_DIR = tmp_path
    assert checkpoint() is True
    with (tmp_path / "checkpoint.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        assert checkpoint() is False
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_autocheckpoint")
        assert cursor.fetchone() == (0,)
