"""HTML of a document, as converters write it, taken apart into the pieces of an outline."""

import re
from html.parser import HTMLParser

from builds.guides.text_import.outline import Outline, Piece

BLOCKS = ("p", "li", "h1", "h2", "h3", "h4", "h5", "h6", "td", "th", "blockquote", "pre", "dt", "dd")
MARKS = {"strong": "**", "b": "**", "em": "*", "i": "*", "code": "`"}
SKIPPED = ("script", "style", "head", "title")
MOST = 5_000  # pieces of one document
_SPECIAL = re.compile(r"([\\`*_\[\]<>])")


def pieces_of(html: str) -> list[Piece]:
    """The pieces of a document in order. Text is Markdown; nothing of the markup goes further."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    reader.flush()
    return reader.pieces[:MOST]


def outline_of(html: str, pictures: dict[str, bytes] | None = None) -> Outline:
    return Outline(pieces_of(html), pictures or {})


class _Reader(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.pieces: list[Piece] = []
        self.lists: list[str] = []  # "ol" or "ul", the innermost last
        self.items: list[tuple[str, int]] = []  # of each open item its kind and depth
        self.text, self.level, self.skip = "", 0, 0
        self.rows: list[list[str]] | None = None

    def handle_starttag(self, tag, attrs):
        if tag in SKIPPED:
            self.skip += 1
        elif tag in ("ol", "ul"):
            self.flush()
            self.lists.append(tag)
        elif tag == "li":
            self.flush()
            kind = self.lists[-1] if self.lists else "ul"
            self.items.append((kind, len(self.lists)))
        elif tag == "table":
            self.flush()
            self.rows = []
        elif tag == "tr" and self.rows is not None:
            self.rows.append([])
        elif tag in ("td", "th") and self.rows is not None:
            self.text = ""
        elif re.fullmatch(r"h[1-6]", tag):
            self.flush()
            self.level = int(tag[1])
        elif tag == "br":
            self.text += " " if self.rows is not None else "\n"
        elif tag == "img":
            self._picture(dict(attrs).get("src") or "")
        elif tag == "p" and self.rows is None:
            self.flush(inside=bool(self.items))
        elif tag in MARKS and self.rows is None:
            self.text += MARKS[tag]

    def handle_endtag(self, tag):
        if tag in SKIPPED:
            self.skip = max(0, self.skip - 1)
        elif tag in ("td", "th") and self.rows:
            self.rows[-1].append(" ".join(self.text.split()))
            self.text = ""
        elif tag == "table" and self.rows is not None:
            rows = tuple(tuple(row) for row in self.rows if any(row))
            self.rows, self.text = None, ""
            if rows:
                self.pieces.append(Piece("table", rows=rows))
        elif tag in MARKS and self.rows is None:
            self._close(MARKS[tag])
        elif tag == "li":
            self.flush()
            if self.items:
                self.items.pop()
        elif tag in ("ol", "ul"):
            self.flush()
            if self.lists:
                self.lists.pop()
        elif tag in BLOCKS and self.rows is None:
            self.flush(inside=bool(self.items) and tag == "p")

    def _close(self, mark: str) -> None:
        """Marks hug their words: "** bold **" is none in Markdown."""
        before, opening, marked = self.text.rpartition(mark)
        if not opening or not marked.strip():
            self.text = before + marked if opening else self.text
            return
        space = " " if marked[-1:].isspace() else ""
        self.text = f"{before}{' ' if marked[:1].isspace() else ''}{mark}{marked.strip()}{mark}{space}"

    def handle_data(self, data):
        if not self.skip:
            self.text += data if self.rows is not None else _SPECIAL.sub(r"\\\1", data)

    def _picture(self, name: str) -> None:
        self.flush()
        if name:
            self.pieces.append(Piece("picture", name))

    def flush(self, inside: bool = False) -> None:
        """End a block. The first paragraph of an item is the item; what follows it inside belongs to it."""
        text = "\n".join(" ".join(line.split()) for line in self.text.split("\n")).strip()
        self.text = ""
        level, self.level = self.level, 0
        if not text:
            return
        if level:
            self.pieces.append(Piece("heading", text.replace("**", ""), level))
        elif self.items:
            self._item(text)
        else:
            self.pieces.append(Piece("text", text))

    def _item(self, text: str) -> None:
        kind, depth = self.items[-1]
        is_new = kind != "" and depth == 1
        if depth > 1:
            self.pieces.append(Piece("bullet", text, level=depth))
        elif is_new:
            self.pieces.append(Piece("item" if kind == "ol" else "bullet", text, level=1))
            self.items[-1] = ("", 1)
        else:
            self.pieces.append(Piece("text", text))
