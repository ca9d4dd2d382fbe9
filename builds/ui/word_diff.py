"""Two texts word by word: what stayed, what went out, what came in."""

import re
from dataclasses import dataclass
from difflib import SequenceMatcher

ISLET = 4  # an unchanged piece this many times shorter than the changes about it is swallowed
TOKEN = re.compile(r"\s+|[\w°%]+(?:[.,'+\-][\w°%]+)*|.", re.DOTALL)


@dataclass(frozen=True)
class Piece:
    """A run of text; kind is "same", "out" (of the text before) or "in" (the text after)."""

    kind: str
    text: str


def word_diff(before: str, after: str) -> tuple[Piece, ...]:
    """The pieces from `before` to `after`: same + out spells `before`, same + in spells `after`."""
    old, new = TOKEN.findall(before), TOKEN.findall(after)
    pieces: list[Piece] = []
    for tag, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            _add(pieces, "same", "".join(old[a:b]))
        else:
            _add(pieces, "out", "".join(old[a:b]))
            _add(pieces, "in", "".join(new[c:d]))
    return _joined(pieces)


def _add(pieces, kind, text) -> None:
    if text:
        pieces.append(Piece(kind, text))


def _is_islet(pieces, n: int) -> bool:
    """Does an unchanged piece lie between two changes, and is it a mere space or short beside them?"""
    if not 0 < n < len(pieces) - 1:
        return False
    text = pieces[n].text
    return text.isspace() or ISLET * len(text) < len(pieces[n - 1].text) + len(pieces[n + 1].text)


def _joined(pieces) -> tuple[Piece, ...]:
    """A space or a short word between two longer changes is part of them: whole phrases read better than confetti."""
    joined: list[Piece] = []
    run: dict[str, str] = {"out": "", "in": ""}

    def close():
        for kind in ("out", "in"):
            _add(joined, kind, run[kind])
            run[kind] = ""

    for n, piece in enumerate(pieces):
        if piece.kind != "same":
            run[piece.kind] += piece.text
        elif _is_islet(pieces, n):
            run["out"] += piece.text
            run["in"] += piece.text
        else:
            close()
            joined.append(piece)
    close()
    return tuple(joined)
