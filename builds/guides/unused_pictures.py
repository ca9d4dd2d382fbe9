"""Names for pictures that come with a document or from another kit."""

import re


def free_name(name: str, content: bytes, taken: dict) -> str:
    """The name a picture may have in a draft: its own where free, or where the draft's picture of it is the same."""
    stem, _dot, ending = name.rpartition(".")
    for n in range(1, 1_000):
        candidate = name if n == 1 else f"{re.sub(r'-v[0-9]+$', '', stem)}-v{n}.{ending}"
        if candidate not in taken or _same(taken[candidate], content):
            return candidate
    raise ValueError(name)


def _same(picture, content: bytes) -> bool:
    try:
        with picture.file.open("rb") as file:
            return file.read() == content
    except OSError:
        return False
