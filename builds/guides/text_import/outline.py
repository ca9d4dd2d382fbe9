"""A written document as a flat list of what it has: headings, numbered items, paragraphs, pictures and tables."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Piece:
    """`kind` is "heading" (of `level`), "item" (a numbered one), "bullet", "text", "picture" or "table"."""

    kind: str
    text: str = ""  # as Markdown; of a picture its name
    level: int = 0
    rows: tuple[tuple[str, ...], ...] = ()


@dataclass
class Outline:
    pieces: list[Piece] = field(default_factory=list)
    pictures: dict[str, bytes] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)  # pictures that cannot be used
