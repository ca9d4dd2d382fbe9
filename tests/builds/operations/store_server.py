"""A real object store of the S3 kind on this machine, for tests: a process of its own, with one key and one bucket."""

import json
import shutil
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import boto3

from builds.object_store import CONFIG

KEY, SECRET, BUCKET, OTHER_BUCKET = "kitbuilds", "a/secret+key", "kit-builds", "kit-builds-backups"
MAY = ["Admin", "Read", "Write", "List", "Tagging"]
PROGRAM = shutil.which("weed") or str(Path(sys.executable).with_name("weed"))


@contextmanager
def object_store(folder: Path):
    """Its address as MEDIA_STORE_URL has it."""
    ports = _free_ports(4)
    known = {"identities": [{"name": "site", "credentials": [{"accessKey": KEY, "secretKey": SECRET}], "actions": MAY}]}
    (folder / "keys.json").write_text(json.dumps(known))
    names = ("s3.port", "master.port", "volume.port", "filer.port")
    options = [f"-{name}={port}" for name, port in zip(names, ports, strict=True)]
    command = [PROGRAM, "server", "-ip=127.0.0.1", f"-dir={folder}", "-s3", f"-s3.config={folder / 'keys.json'}"]
    command += [*options, "-s3.port.iceberg=0", "-s3.port.lance=0", "-volume.max=20", "-master.volumeSizeLimitMB=64"]
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(command, stdout=log, stderr=log, cwd=folder)
    try:
        _make_bucket(ports[0], process, folder)
        yield f"s3://{KEY}:a%2Fsecret%2Bkey@127.0.0.1:{ports[0]}/{BUCKET}?tls=off"
    finally:
        process.kill()  # told to end, it takes half a minute
        process.wait()


def _free_ports(count: int) -> list[int]:
    """Below 20,000: the store adds 10,000 to each for its own calls."""
    result, port = [], 15_000 + (time.time_ns() // 1000) % 3000
    while len(result) < count:
        port += 7
        with socket.socket() as first, socket.socket() as second:
            try:
                first.bind(("127.0.0.1", port))
                second.bind(("127.0.0.1", port + 10_000))
            except OSError:
                continue
        result.append(port)
    return result


def _make_bucket(port: int, process, folder: Path) -> None:
    keys = {"aws_access_key_id": KEY, "aws_secret_access_key": SECRET, "region_name": "us-east-1"}
    client = boto3.client("s3", endpoint_url=f"http://127.0.0.1:{port}", config=CONFIG, **keys)
    last: Exception | None = None
    for _try in range(120):
        if process.poll() is not None:
            break
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
