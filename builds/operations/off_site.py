"""A copy of each backup in a store of the S3 kind (BACKUP_STORE_URL): a backup on the disk that fails is none."""

from pathlib import Path

from django.core.files import File
from django.utils.module_loading import import_string

from builds import environment
from builds.operations.backup import PREFIX, SUMS
from builds.operations.postgresql import BackupError

NAME = "BACKUP_STORE_URL"


def is_wanted() -> bool:
    return bool(environment.text(NAME))


def copy(backup: Path, keep: int) -> None:
    """The list of sums goes last: a backup without it is half a one. Raises BackupError."""
    store = _store()
    try:
        for path in sorted(backup.iterdir(), key=lambda path: path.name == SUMS):
            with path.open("rb") as file:
                store.save(f"{backup.name}/{path.name}", File(file))
        for old in _names(store)[:-keep]:
            for name in store.listdir(old)[1]:
                store.delete(f"{old}/{name}")
    except OSError as error:
        raise BackupError(f"The backup was saved in {backup} but not copied to the store: {error}") from error


def fetch(name: str, folder: Path) -> Path:
    """Bring a backup here, to be restored. Raises BackupError."""
    store = _store()
    try:
        if name not in _names(store):
            raise BackupError(f"The store has no backup {name}. It has: {', '.join(_names(store)) or 'none'}.")
        (folder / name).mkdir(parents=True)
        for part in store.listdir(name)[1]:
            with store.open(f"{name}/{part}") as file, (folder / name / Path(part).name).open("wb") as out:
                for chunk in file.chunks():
                    out.write(chunk)
    except OSError as error:
        raise BackupError(f"The backup could not be fetched: {error}") from error
    return folder / name


def _names(store) -> list[str]:
    """The whole backups of the store, oldest first."""
    names = sorted(name for name in store.listdir("")[0] if name.startswith(PREFIX))
    return [name for name in names if SUMS in store.listdir(name)[1]]


def _store():
    if not is_wanted():
        raise BackupError(f"{NAME} does not name a store.")
    target, media = environment.media_store(NAME), environment.media_store()
    if all(target["OPTIONS"][part] == media.get("OPTIONS", {}).get(part) for part in ("endpoint_url", "bucket_name")):
        raise BackupError(f"{NAME} and MEDIA_STORE_URL name the same bucket. Use a separate bucket for backups.")
    return import_string(target["BACKEND"])(**target["OPTIONS"])
