"""The tests' own object store: two workers never have the same ports, and a port lost meanwhile is another try."""

import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.builds.operations import store_server
from tests.builds.operations.store_server import PROGRAM, EndedAtOnce, claimed_ports, object_store

CLAIMS = """
import sys
from tests.builds.operations.store_server import claimed_ports
with claimed_ports(4, start=int(sys.argv[1])) as ports:
    print(*ports, flush=True)
    sys.stdin.read()
"""


def _claims_of_another_process(start: int) -> subprocess.Popen:
    command = [sys.executable, "-c", CLAIMS, str(start)]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


@pytest.mark.lengthy
def test_two_processes_that_look_in_the_same_place_claim_different_ports():
    with _claims_of_another_process(16_000) as other, claimed_ports(4, start=16_000) as early:
        theirs = [int(port) for port in other.stdout.readline().split()]
        with claimed_ports(4, start=16_000) as late:
            assert len({*theirs, *early, *late}) == 12
        other.stdin.close()


def test_ports_are_free_again_once_their_store_has_ended():
    with claimed_ports(2, start=17_000) as first:
        pass
    with claimed_ports(2, start=17_000) as second:
        assert second == first


def test_a_port_in_use_is_passed_over_and_so_is_one_whose_second_is_in_use():
    with claimed_ports(1, start=18_000) as (port,):
        pass
    for taken in (port, port + 10_000):
        with socket.socket() as used:
            used.bind(("127.0.0.1", taken))
            with claimed_ports(1, start=18_000) as (other,):
                assert other != port
    with claimed_ports(1, start=store_server.LAST_PORT) as (first_again,):
        assert store_server.FIRST_PORT <= first_again < store_server.LAST_PORT


@pytest.fixture
def ending_at_once(tmp_path, monkeypatch):
    """A store that ends at once, as one whose port was taken, so many times; then the real one is run."""

    def program(times: int) -> Path:
        path, count = tmp_path / "store", tmp_path / "count"
        path.write_text(
            f'#!/bin/sh\necho x >>"{count}"\n[ $(wc -l <"{count}") -gt {times} ] || exit 1\nexec "{PROGRAM}" "$@"\n'
        )
        path.chmod(0o755)
        monkeypatch.setattr(store_server, "PROGRAM", str(path))
        return count

    return program


@pytest.mark.lengthy
@pytest.mark.skipif(not Path(PROGRAM).exists() and not os.environ.get("CI"), reason="no store for this kind of machine")
def test_a_store_that_ends_at_once_is_started_again_on_other_ports(ending_at_once, tmp_path):
    count = ending_at_once(1)
    (tmp_path / "data").mkdir()
    with object_store(tmp_path / "data") as address:
        assert address.startswith("s3://")
    assert len(count.read_text().split()) == 2


def test_a_store_that_always_ends_is_an_error_and_not_tried_for_ever(ending_at_once, tmp_path):
    count = ending_at_once(99)
    with pytest.raises(EndedAtOnce), object_store(tmp_path):
        pass
    assert len(count.read_text().split()) == store_server.TRIES
