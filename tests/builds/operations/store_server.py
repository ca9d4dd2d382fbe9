"""A real object store of the S3 kind on this machine, for tests: a process of its own, with one key and one bucket."""

import json
import os
import random
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack, contextmanager
from fcntl import LOCK_EX, LOCK_NB, flock
from pathlib import Path

import boto3

from builds.object_store import CONFIG

KEY, SECRET, BUCKET, OTHER_BUCKET = "kitbuilds", "a/secret+key", "kit-builds", "kit-builds-backups"
MAY = ["Admin", "Read", "Write", "List", "Tagging"]
FIRST_PORT, LAST_PORT, TRIES = 15_000, 19_999, 3
PROGRAM = shutil.which("weed") or str(Path(sys.executable).with_name("weed"))


class EndedAtOnce(RuntimeError):
    """The store's process ended before it served anything."""


@contextmanager
def object_store(folder: Path):
    """Its address as MEDIA_STORE_URL has it."""
    known = {"identities": [{"name": "site", "credentials": [{"accessKey": KEY, "secretKey": SECRET}], "actions": MAY}]}
    (folder / "keys.json").write_text(json.dumps(known))
    for attempt in range(1, TRIES + 1):
        with claimed_ports(4) as ports, _running(folder, ports) as process:
            try:
                _make_bucket(ports[0], process, folder)
            except EndedAtOnce:  # another program has taken one of its ports since
                if attempt == TRIES:
                    raise
                continue
            yield f"s3://{KEY}:a%2Fsecret%2Bkey@127.0.0.1:{ports[0]}/{BUCKET}?tls=off"
            return


@contextmanager
def _running(folder: Path, ports: list[int]):
    names = ("s3.port", "master.port", "volume.port", "filer.port")
    options = [f"-{name}={port}" for name, port in zip(names, ports, strict=True)]
    command = [PROGRAM, "server", "-ip=127.0.0.1", f"-dir={folder}", "-s3", f"-s3.config={folder / 'keys.json'}"]
    command += [*options, "-s3.port.iceberg=0", "-s3.port.lance=0", "-volume.max=20", "-master.volumeSizeLimitMB=64"]
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(command, stdout=log, stderr=log, cwd=folder)
    try:
        yield process
    finally:
        process.kill()  # told to end, it takes half a minute
        process.wait()


@contextmanager
def claimed_ports(count: int, start: int | None = None):
    """Free ports that no other store of this machine's tests has: a lock on each is held for as long as they are used.

    Below 20,000: the store adds 10,000 to each for its own calls.
    """
    claims = Path(tempfile.gettempdir()) / f"store-ports-{os.getuid()}"
    claims.mkdir(exist_ok=True)
    port, result = start or random.SystemRandom().randrange(FIRST_PORT, LAST_PORT), []
    with ExitStack() as held:
        while len(result) < count:
            port = port + 1 if port < LAST_PORT else FIRST_PORT
            lock = held.enter_context((claims / str(port)).open("w"))
            if _claims(lock) and _is_free(port) and _is_free(port + 10_000):
                result.append(port)
        yield result


def _claims(lock) -> bool:
    try:
        flock(lock, LOCK_EX | LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _is_free(port: int) -> bool:
    with socket.socket() as probe:
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


def _make_bucket(port: int, process, folder: Path) -> None:
    keys = {"aws_access_key_id": KEY, "aws_secret_access_key": SECRET, "region_name": "us-east-1"}
    client = boto3.client("s3", endpoint_url=f"http://127.0.0.1:{port}", config=CONFIG, **keys)
    last: Exception | None = None
    for _try in range(120):
        if process.poll() is not None:
            raise EndedAtOnce((folder / "log").read_text()[-2000:])
        try:
            client.create_bucket(Bucket=OTHER_BUCKET)
            client.create_bucket(Bucket=BUCKET)
            client.put_object(Bucket=BUCKET, Key="ready", Body=b"x")
            client.delete_object(Bucket=BUCKET, Key="ready")
            return
        except Exception as error:
            last = error
            time.sleep(0.5)
    raise RuntimeError(f"the object store did not start: {last}\n{(folder / 'log').read_text()[-2000:]}")
