"""Static files under names that carry a hash of what is in them, so that a browser keeps them for a year.

Nothing is collected first: names and packed copies are worked out from the files themselves when a process starts, so
that `manage.py demo` and a server from a clone serve the same as an installation behind a proxy.
"""

import gzip
import hashlib
import os
import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from tempfile import NamedTemporaryFile
from wsgiref.headers import Headers

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.finders import BaseFinder
from django.contrib.staticfiles.storage import StaticFilesStorage
from django.core.files.base import ContentFile
from whitenoise.middleware import WhiteNoiseMiddleware
from whitenoise.responders import StaticFile

from builds.ui.smaller import smaller

YEAR = 365 * 24 * 3600
PACKED = (".css", ".js", ".svg", ".txt", ".webmanifest", ".json")  # the rest is packed already, or never sent


def compute_digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:12]


def with_digest(name: str, digest: str) -> str:
    """app.css -> app.0123456789ab.css"""
    stem, suffix = os.path.splitext(name)
    return f"{stem}.{digest}{suffix}"


@lru_cache
def hashed_name(name: str) -> str:
    """The name a static file is served under; its own where there is no such file."""
    path = finders.find(name)
    return with_digest(name, compute_digest(Path(path).read_bytes())) if path else name


HASHED = re.compile(r"(?P<stem>.+)\.(?P<digest>[0-9a-f]{12})(?P<suffix>\.\w+)")


class HashedNameFinder(BaseFinder):
    """Finds the file behind a hashed name, for servers that ask the finders: Django's own while developing and testing.
    Lists nothing, since every file is listed under its own name."""

    def find(self, path, find_all=False, **kwargs):
        split = HASHED.fullmatch(path)
        name = split and split["stem"] + split["suffix"]
        path_found = finders.find(name) if name and hashed_name(name) == path else None
        return ([path_found] if path_found else []) if find_all else (path_found or [])

    def list(self, ignore_patterns):
        return []


class HashedStaticFiles(StaticFilesStorage):
    """`{% static "app.css" %}` gives the hashed name. `collectstatic` writes both names, for a proxy that serves."""

    def url(self, name):
        return super().url(name if settings.DEBUG else hashed_name(name))

    def post_process(self, paths, dry_run=False, **options):
        for name, (storage, path) in list(paths.items()):
            with storage.open(path) as file:
                content = file.read()
            hashed = with_digest(name, compute_digest(content))
            if not dry_run and not self.exists(hashed):
                self._save(hashed, ContentFile(content))  # type: ignore[attr-defined]
            yield name, hashed, True


class HashedFilesMiddleware(WhiteNoiseMiddleware):
    """Serve every static file under its own name for a minute and under its hashed name for a year, packed where the
    browser takes that."""

    FOREVER = YEAR

    def add_file_to_dictionary(self, url, path, stat_cache=None):
        super().add_file_to_dictionary(url, path, stat_cache)
        name = url[len(self.static_prefix) :]
        if finders.find(name) == path:
            hashed = self.static_prefix + hashed_name(name)
            self.files[hashed] = self.get_static_file(path, hashed, stat_cache)

    def get_static_file(self, path, url, stat_cache=None):
        copies = packed_copies(Path(path)) if os.path.isfile(path) else None
        if copies is None:
            return super().get_static_file(path, url, stat_cache)
        headers = Headers([])
        self.add_mime_headers(headers, path, url)
        self.add_cache_headers(headers, path, url)
        plain, packed = copies
        return StaticFile(str(plain), headers.items(), encodings={"gzip": str(packed)})


def packed_copies(path: Path) -> tuple[Path, Path] | None:
    """A file as it is sent, without comments and indentation, and its gzip; kept in the data folder under the digest of
    what they hold: never stale, and two processes that write one at once write the same. None where packing is of no
    use or the folder cannot be written to."""
    if path.suffix not in PACKED:
        return None
    content = smaller(path.as_posix(), path.read_bytes())
    plain = settings.DATA_DIR / "packed" / f"{compute_digest(content)}{path.suffix}"
    packed = plain.with_name(plain.name + ".gz")
    try:
        plain.parent.mkdir(exist_ok=True)
        _write_once(plain, lambda: content)
        _write_once(packed, lambda: gzip.compress(content, 9, mtime=0))
    except OSError:
        return None
    return plain, packed


def _write_once(path: Path, make: Callable[[], bytes]) -> None:
    if path.exists():
        return
    with NamedTemporaryFile(dir=path.parent, delete=False) as file:
        file.write(make())
    os.replace(file.name, path)
