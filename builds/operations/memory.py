"""Memory of a process that serves for long: what it frees goes back to the system."""

import ctypes
import sys

# Numbers of mallopt(3) in the GNU C library's <malloc.h>, set as its page says.
TRIM_THRESHOLD, MMAP_THRESHOLD, ARENA_MAX = -1, -3, -8
LARGE = 2**20  # bytes: from here on a block is the system's own, and is given back whole when it is freed
KEPT = 4 * 2**20  # bytes that may stay free at the top of an arena
ARENAS = 2  # places that threads take small blocks from; else up to eight for each core


def give_back_freed_memory() -> bool:
    """Decoders take blocks of up to 16 MB. Left to itself the library raises the size from which blocks are given back
    to 32 MB as soon as it has freed a few, and then each thread that has ever decoded keeps its own. Says whether the
    library was told; on other systems nothing is changed."""
    if not sys.platform.startswith("linux"):
        return False
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    limits = ((MMAP_THRESHOLD, LARGE), (TRIM_THRESHOLD, KEPT), (ARENA_MAX, ARENAS))
    return mallopt is not None and all(mallopt(name, value) == 1 for name, value in limits)
