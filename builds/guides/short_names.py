"""Short names (keys) of stages, steps and checks, made from words."""

import re

from builds.guides.plain_letters import in_plain_letters

WORDS = re.compile(r"[a-z0-9]+")


def make_key(text: str, taken: set[str]) -> str:
    """A key from words, unlike those taken so far."""
    plain = "-".join(WORDS.findall(in_plain_letters(text)))[:50].strip("-") or "step"
    key = plain if plain not in taken else f"{plain}-{_next_free(plain, taken)}"
    taken.add(key)
    return key


def _next_free(plain: str, taken: set[str]) -> int:
    """The number after those taken in a row, by halving: a document may name a thousand steps alike."""
    most = 2
    while f"{plain}-{most}" in taken:
        most *= 2
    least = max(1, most // 2)
    while most - least > 1:
        middle = (least + most) // 2
        least, most = (middle, most) if f"{plain}-{middle}" in taken else (least, middle)
    return most
