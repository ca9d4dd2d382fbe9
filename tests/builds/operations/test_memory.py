"""What a process frees it gives back: one that decodes photos for days must not keep the most it ever needed."""

import subprocess
import sys

import pytest

# Blocks as a decoder takes them, in threads that live on: the library's own rule (mallopt(3), "M_MMAP_THRESHOLD":
# dynamic, raised by each freed block up to 32 MB) keeps them in the arena of each thread.
DECODING = """
import ctypes, sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from builds.operations.memory import give_back_freed_memory

if sys.argv[1] == "told":
    assert give_back_freed_memory()
library = ctypes.CDLL(None)
library.malloc.restype, library.free.argtypes = ctypes.c_void_p, [ctypes.c_void_p]

def held():
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096 // 2**20

def work(_n, together=Barrier(4)):
    library.free(library.malloc(17 * 2**20))  # raises what counts as large
    blocks = [library.malloc(3 * 2**20) for _ in range(8)]
    small = library.malloc(5000)  # lies above them and lives on
    for block in blocks:
        ctypes.memset(block, 1, 3 * 2**20)
    together.wait()
    for block in blocks:
        library.free(block)

before = held()
with ThreadPoolExecutor(4) as threads:
    list(threads.map(work, range(4)))
    print(held() - before)
"""


def kept(how: str) -> int:
    """MB that are held after 96 MB were freed."""
    ran = subprocess.run([sys.executable, "-c", DECODING, how], capture_output=True, text=True, check=True)
    return int(ran.stdout)


@pytest.mark.lengthy
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="mallopt(3) is the GNU C library's")
def test_freed_blocks_of_decoders_go_back_to_the_system():
    assert kept("told") < 10
    assert kept("as it comes") > 40, "the check would notice nothing"


def test_each_web_process_gives_back_freed_memory(monkeypatch):
    from builds.operations import server

    reported = []
    monkeypatch.setattr(server, "give_back_freed_memory", lambda: reported.append(True))
    monkeypatch.setattr(server.sys, "setswitchinterval", lambda seconds: None)
    monkeypatch.setattr(
        server, "create_server", lambda *_args, **_options: type("Web", (), {"run": lambda self: None})()
    )
    server._serve(None, 1)
    assert reported
