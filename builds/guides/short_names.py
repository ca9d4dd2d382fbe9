"""Short names (keys) of stages, steps and checks, made from words."""

import re

from builds.guides.plain_letters import in_plain_letters

WORDS = re.compile(r"[a-z0-9]+")


def make_key(text: str, taken: set[str]) -> str:
    """A key from words, unlike those taken so far."""
    plain = "-".join(WORDS.findall(in_plain_letters(text)))[:50].strip("-") or "step"
    key = next(name for name in (plain, *(f"{plain}-{n}" for n in range(2, 999))) if name not in taken)
    taken.add(key)
    return key
