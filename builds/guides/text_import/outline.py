"""A written document as a flat list of what it has: headings, numbered items, paragraphs, pictures and tables."""

import re
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Piece:
    """`kind` is "title" (of the document), "heading" (of `level`), "item" (a numbered one), "bullet", "text", "picture"
    or "table"."""

    kind: str
    text: str = ""  # as Markdown; of a picture its name
    level: int = 0
    rows: tuple[tuple[str, ...], ...] = ()


@dataclass
class Outline:
    """`left_out` are pictures that cannot be used; `notes` are codes of what else is not as it was (stages.NOTES)."""

    pieces: list[Piece] = field(default_factory=list)
    pictures: dict[str, bytes] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


_MARK = re.compile(r"\s*(?:\\?[(\[])?(?:\w{1,3}\\?[.)]|[-+•◦–—]|\\?\*|\|)")  # of a list that somebody typed


def is_row_of_tabs(text: str) -> bool:
    """Is this a line of a table that is set with tabs, and no item, nor the rest of a line, that begins with one?"""
    return "\t" in text.strip() and text[:1] != "\t" and not _MARK.fullmatch(text.partition("\t")[0])


def with_tables_of_tabs(pieces: list[Piece]) -> list[Piece]:
    """Paragraphs that follow one another with as many tabs each are a table, as people type one. A row may lack its
    last cell, whose tab is often left out."""
    with_tables: list[Piece] = []
    run: list[Piece] = []
    for piece in [*pieces, Piece("end")]:
        cells = piece.text.count("\t") + 1 if piece.kind == "text" and is_row_of_tabs(piece.text) else 0
        width = run[0].text.count("\t") + 1 if run else cells
        if cells > 1 and width - 1 <= cells <= width:
            run.append(piece)
            continue
        with_tables += _table(run)
        run = [piece] if cells > 1 else []
        with_tables += [] if cells > 1 or piece.kind == "end" else [_plain(piece)]
    return with_tables


def _table(run: list[Piece]) -> list[Piece]:
    if len(run) < 2:
        return [_plain(piece) for piece in run]
    rows = [tuple(re.sub(r"\\(.)", r"\1", " ".join(c.split())) for c in piece.text.split("\t")) for piece in run]
    return [Piece("table", rows=tuple(row + ("",) * (len(rows[0]) - len(row)) for row in rows))]


def _plain(piece: Piece) -> Piece:
    return Piece(piece.kind, piece.text.replace("\t", " "), piece.level, piece.rows) if "\t" in piece.text else piece
