"""Edits of a guide as a person reads them: word by word, and the figure of a check with its band as one change."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.row_labels import FIGURES, field_label, format_figures, value_text
from builds.ui.word_diff import Piece, word_diff


@dataclass(frozen=True)
class EditLine:
    """One change: of which row, what, and its pieces from before to after."""

    where: list | str
    what: str
    pieces: tuple[Piece, ...]


def edit_lines(edits: list[dict]) -> list[EditLine]:
    """From {"where", "field", "before", "after"}, as typed."""
    lines, figures = [], {}
    for edit in edits:
        if edit["field"] not in FIGURES:
            lines.append(EditLine(edit["where"], field_label(edit["field"]), _pieces(edit)))
        elif str(edit["where"]) not in figures:
            figures[str(edit["where"])] = len(lines)
            lines.append(
                _figure(edit["where"], [e for e in edits if e["where"] == edit["where"] and e["field"] in FIGURES])
            )
    return lines


def whole(before: str, after: str) -> tuple[Piece, ...]:
    """Out goes the one, in comes the other."""
    pieces = (Piece("out", before), Piece("same", " → " if before and after else ""), Piece("in", after))
    return tuple(piece for piece in pieces if piece.text)


def _figure(where, edits) -> EditLine:
    before, after = ({e["field"]: e[side] for e in edits} for side in ("before", "after"))
    return EditLine(
        where,
        _("figure and band") if len(edits) > 1 else field_label(edits[0]["field"]),
        whole(format_figures(before), format_figures(after)),
    )


def _pieces(edit) -> tuple[Piece, ...]:
    before, after = (value_text(edit["field"], edit[side]) for side in ("before", "after"))
    if before == after:  # only the marks differ
        before, after = str(edit["before"]), str(edit["after"])
    return word_diff(before, after) if before else whole("", after)
