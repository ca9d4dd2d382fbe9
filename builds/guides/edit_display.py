"""Edits of a guide as a person reads them: word by word, and the figure of a check with its band as one change."""

from dataclasses import dataclass

from builds.guides.row_labels import FIGURES, field_words, figure_words, value_words
from builds.ui.word_diff import Piece, word_diff


@dataclass(frozen=True)
class Told:
    """One change: of which row, what, and its pieces from before to after."""

    where: str
    what: str
    pieces: tuple[Piece, ...]


def told_edits(edits: list[dict]) -> list[Told]:
    """From {"where", "field", "before", "after"}, as typed."""
    told, figures = [], {}
    for edit in edits:
        if edit["field"] not in FIGURES:
            told.append(Told(edit["where"], field_words(edit["field"]), _words(edit)))
        elif edit["where"] not in figures:
            figures[edit["where"]] = len(told)
            told.append(
                _figure(edit["where"], [e for e in edits if e["where"] == edit["where"] and e["field"] in FIGURES])
            )
    return told


def whole(before: str, after: str) -> tuple[Piece, ...]:
    """Out goes the one, in comes the other."""
    pieces = (Piece("out", before), Piece("same", " → " if before and after else ""), Piece("in", after))
    return tuple(piece for piece in pieces if piece.text)


def _figure(where, edits) -> Told:
    before, after = ({e["field"]: e[side] for e in edits} for side in ("before", "after"))
    return Told(
        where,
        "figure and band" if len(edits) > 1 else field_words(edits[0]["field"]),
        whole(figure_words(before), figure_words(after)),
    )


def _words(edit) -> tuple[Piece, ...]:
    before, after = (value_words(edit["field"], edit[side]) for side in ("before", "after"))
    if before == after:  # only the marks differ
        before, after = str(edit["before"]), str(edit["after"])
    return word_diff(before, after) if before else whole("", after)
