"""Names: how one is written down, and when two are the same to a reader."""

import unicodedata
from functools import lru_cache

from confusable_homoglyphs.confusables import confusables_data

LONGEST = 60


def clean_name(typed: str) -> str:
    """A name as it is kept: in the compatibility form (NFKC of Unicode's annex 15), single spaces."""
    return " ".join(unicodedata.normalize("NFKC", typed).split())


def name_key(typed: str) -> str:
    """The same for all spellings that a reader takes for one name: whatever the case, the width and the script of
    letters that look alike (Unicode's technical standard 39)."""
    looks, capitals = _looks()
    small = "".join(capitals.get(c, c) for c in clean_name(typed)).casefold()
    return "".join(looks.get(c, c) for c in small)[: 3 * LONGEST]


@lru_cache(maxsize=1)
def _looks() -> tuple[dict[str, str], dict[str, str]]:
    """Letter -> the one that stands for all that look like it; and capital of another script -> the Latin one that
    looks like it, before the case is dropped."""
    parent: dict[str, str] = {}

    def root(letter: str) -> str:
        while (above := parent.setdefault(letter, letter)) != letter:
            letter = above
        return letter

    for letter, alike in confusables_data.items():
        for other in (row["c"] for row in alike):
            if len(letter) == len(other) == 1:
                first, second = sorted((root(letter), root(other)))
                parent[second] = first
    looks = {letter: root(letter) for letter in parent}
    latin = {looks[c]: c for c in map(chr, range(ord("A"), ord("Z") + 1)) if c in looks}
    return looks, {c: latin[looks[c]] for c in looks if not c.isascii() and c.isupper() and looks[c] in latin}
