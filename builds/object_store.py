"""Photos, pictures, recordings and archives in a store of the S3 kind (MEDIA_STORE_URL) in place of a folder.

Nobody is ever sent there: every file goes through a view that asks who is calling, so the bucket stays private. What
the store answers when it fails becomes an OSError, which the site's pages know: nothing was saved, send it again.
"""

import errno
from collections.abc import Iterator
from contextlib import contextmanager

from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from storages.backends.s3 import S3Storage

CONFIG = Config(
    signature_version="s3v4",
    s3={"addressing_style": "path"},
    connect_timeout=5,  # s
    read_timeout=20,
    retries={"max_attempts": 3},
    request_checksum_calculation="when_required",  # stores of other makers do not all know the newer ones
    response_checksum_validation="when_required",
)


@contextmanager
def _failures() -> Iterator[None]:
    try:
        yield
    except (BotoCoreError, ClientError) as error:
        raise OSError(errno.EIO, f"the object store failed: {error}") from error


class ObjectStore(S3Storage):
    def get_default_settings(self):
        return super().get_default_settings() | {
            "client_config": CONFIG,
            "file_overwrite": False,
            "default_acl": None,
            "max_memory_size": 2**22,  # larger files wait on disk
        }

    def _save(self, name, content):
        with _failures():
            return super()._save(name, content)

    def _open(self, name, mode="rb"):
        with _failures():
            return super()._open(name, mode)

    def delete(self, name):
        with _failures():
            super().delete(name)

    def exists(self, name):
        with _failures():
            return super().exists(name)

    def listdir(self, name):
        with _failures():
            return super().listdir(name)
