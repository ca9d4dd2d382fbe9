"""Backups: the database as of one moment, the photos and pictures, the settings without their secrets, and a checksum
of each file. Made while the site serves; written beside its place and renamed when it is whole."""

import hashlib
import json
import os
import shutil
import sqlite3
import tarfile
from pathlib import Path

from django.core.files import File
from django.core.files.storage import FileSystemStorage, default_storage
from django.db import DatabaseError, connection
from django.utils import timezone

from builds.environment import VARIABLES
from builds.operations import postgresql, stored_files
from builds.operations.models import Run
from builds.operations.postgresql import BackupError

SUMS = "SHA256SUMS"
PREFIX = "kit-builds-"
SECRET = ("SECRET", "TOKEN", "PASSWORD", "KEY", "_URL")  # names of settings whose values are not written down
SQLITE, POSTGRESQL = "database.sqlite3", "database.pgdump"
MEDIA, SETTINGS = "media.tar", "settings.json"


def make(folder: Path, keep: int) -> Path:
    """Make one in `folder`, delete all but the newest `keep`, and note it. Raises BackupError."""
    name = PREFIX + f"{timezone.now():%Y%m%d-%H%M%S-%f}"
    unfinished = folder / f".{name}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        unfinished.mkdir(mode=0o700)
        _dump_database(unfinished)
        _pack_media(unfinished / MEDIA)
        (unfinished / SETTINGS).write_text(json.dumps(_settings(), indent=2))
        _write_sums(unfinished)
        verify(unfinished)
        _reach_the_disk(*unfinished.iterdir(), unfinished)
        unfinished.rename(folder / name)
        _reach_the_disk(folder)
    except (OSError, sqlite3.Error, DatabaseError) as error:
        raise BackupError(f"The backup could not be made: {error}") from error
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    _forget_old(folder, keep)
    size = sum(path.stat().st_size for path in (folder / name).iterdir())
    Run.note("backup", {"bytes": size, "name": name}, timezone.now())
    return folder / name


def all_in(folder: Path) -> list[Path]:
    """The finished backups of a folder, oldest first."""
    return sorted(path for path in folder.glob(f"{PREFIX}*") if (path / SUMS).exists())


def verify(backup: Path) -> None:
    """Raise BackupError unless every file is there and is as it was written."""
    if not (backup / SUMS).exists():
        raise BackupError(f"{backup} is not a backup: it has no file {SUMS}.")
    listed = _listed(backup)
    if missing := sorted({MEDIA, SETTINGS} - set(listed)):
        raise BackupError(f"{SUMS} is incomplete: {', '.join(missing)} is not listed.")
    for name, digest in listed.items():
        path = backup / name
        if not path.is_file() or _digest(path) != digest:
            raise BackupError(f"{name} is missing or damaged.")
    database = backup / SQLITE
    if SQLITE in listed:
        with sqlite3.connect(f"file:{database}?mode=ro", uri=True) as opened:
            verdict = opened.execute("PRAGMA quick_check").fetchone()[0]
        if verdict != "ok":
            raise BackupError(f"The database in the backup is damaged: {verdict}")
    elif POSTGRESQL not in listed:
        raise BackupError("The backup contains no database.")


def _listed(backup: Path) -> dict[str, str]:
    """Name -> checksum. Raises BackupError for a line that is neither: half a list is none."""
    checksums = {}
    for line in (backup / SUMS).read_text(errors="replace").splitlines():
        digest, _space, name = line.partition("  ")
        if len(digest) != 64 or not name or Path(name).name != name:
            raise BackupError(f"{SUMS} is damaged.")
        checksums[name] = digest
    return checksums


def restore(backup: Path, data_dir: Path) -> None:
    """Put a backup into an empty data folder (PostgreSQL: into the empty database of DATABASE_URL). Raises BackupError;
    nothing is written before all of it has been checked."""
    verify(backup)
    target = data_dir / "builds.sqlite3"
    if not _is_folder() and next(stored_files.names(), None):
        raise BackupError("The store in MEDIA_STORE_URL already has files. Use an empty bucket.")
    if [*data_dir.glob("builds.sqlite3*")] or (data_dir / "media").exists():  # the log of another database, too
        raise BackupError(f"{data_dir} already has data. Use an empty folder.")
    _refuse_ways_out(backup / MEDIA)
    data_dir.mkdir(parents=True, exist_ok=True)
    if SQLITE in _listed(backup):
        shutil.copyfile(backup / SQLITE, target)
    else:
        postgresql.load(backup / POSTGRESQL)
    _unpack_media(backup / MEDIA, data_dir / "media")


def _dump_database(folder: Path) -> None:
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:  # reads one moment; writers go on meanwhile
            cursor.execute("VACUUM INTO %s", [str(folder / SQLITE)])
        return
    postgresql.dump(folder / POSTGRESQL)


def _pack_media(path: Path) -> None:
    """After the database: a file is written before its row and never changed, so that all that rows name is there; but
    for a photo that its builder withdraws at this moment."""
    with tarfile.open(path, "w") as archive:
        for name in stored_files.names():
            try:
                file = default_storage.open(name)
                changed = int(default_storage.get_modified_time(name).timestamp())
            except FileNotFoundError:
                continue
            with file:
                entry = tarfile.TarInfo(name)
                entry.size, entry.mtime = file.size, changed
                archive.addfile(entry, file)


def _reach_the_disk(*paths: Path) -> None:
    """Older backups are deleted after this one: it must outlive a power cut."""
    for path in paths:
        opened = os.open(path, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _is_folder() -> bool:
    return isinstance(default_storage, FileSystemStorage)


def _refuse_ways_out(path: Path) -> None:
    """Before the database is written: an archive made elsewhere may name files outside of its folder, or links."""
    try:
        with tarfile.open(path) as archive:
            for entry in archive:
                if not tarfile.data_filter(entry, "/media").isfile():
                    raise BackupError(f"{MEDIA} contains {entry.name!r}, which does not belong in a backup.")
    except tarfile.TarError as error:
        raise BackupError(f"{MEDIA} cannot be unpacked: {error}") from error


def _unpack_media(path: Path, folder: Path) -> None:
    """Into the folder, or the store of the settings where one is named."""
    with tarfile.open(path) as archive:
        if _is_folder():
            archive.extractall(folder, filter="data")
            return
        for entry in archive:
            safe = tarfile.data_filter(entry, "/media")  # refuses names with a way out
            if safe.isfile() and (content := archive.extractfile(entry)):
                default_storage.save(safe.name, File(content))


def _settings() -> dict[str, str]:
    known = {name: os.environ[name] for name in VARIABLES if name in os.environ}
    return {name: value for name, value in known.items() if not any(part in name for part in SECRET)}


def _write_sums(folder: Path) -> None:
    lines = [f"{_digest(path)}  {path.name}" for path in sorted(folder.iterdir())]
    (folder / SUMS).write_text("\n".join(lines) + "\n")


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _forget_old(folder: Path, keep: int) -> None:
    for old in all_in(folder)[:-keep]:
        shutil.rmtree(old)
