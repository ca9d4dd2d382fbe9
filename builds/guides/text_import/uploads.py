"""A document between its preview and its saving, kept under a name that nobody guesses."""

import re
import secrets
from datetime import timedelta

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from builds.guides.parts_import.errors import UnreadableFile

OLD = timedelta(days=1)
_TOKEN = re.compile(r"[0-9a-f]{32}")


def _folder(draft) -> str:
    return f"guides/{draft.pk}/reading"


def store_upload(draft, raw: bytes) -> str:
    """Keep a document for a day; returns its token."""
    _forget_old(draft)
    token = secrets.token_hex(16)
    default_storage.save(f"{_folder(draft)}/{token}", ContentFile(raw))
    return token


def stored_upload(draft, token: str) -> bytes:
    """Raises UnreadableFile where it is gone."""
    name = f"{_folder(draft)}/{token}"
    if not _TOKEN.fullmatch(token) or not default_storage.exists(name):
        raise UnreadableFile("The document is no longer here. Choose it again.")
    with default_storage.open(name, "rb") as file:
        return file.read()


def forget_upload(draft, token: str) -> None:
    if _TOKEN.fullmatch(token):
        default_storage.delete(f"{_folder(draft)}/{token}")


def _forget_old(draft) -> None:
    try:
        _folders, names = default_storage.listdir(_folder(draft))
    except (FileNotFoundError, NotImplementedError):
        return
    for name in names:
        path = f"{_folder(draft)}/{name}"
        if default_storage.get_modified_time(path) < timezone.now() - OLD:
            default_storage.delete(path)
