"""HTML of a document, as converters write it, taken apart into the pieces of an outline."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

from builds.guides.text_import.cleaning import clean
from builds.guides.text_import.outline import Outline, Piece, with_tables_of_tabs
from builds.guides.text_import.table_grid import Cell, rows_of_cells, span

BLOCKS = ("p", "li", "h1", "h2", "h3", "h4", "h5", "h6", "blockquote", "pre", "dt", "dd", "div")
MARKS = {"strong": "**", "b": "**", "em": "*", "i": "*", "code": "`"}
STRUCK = ("s", "del", "strike")
SKIPPED = ("script", "style", "head", "title")
MOST = 5_000  # pieces of one document
TITLE = "document-title"  # class of a paragraph that is the document's title
_SPECIAL = re.compile(r"([\\`*_\[\]<>])")
_NOTE = re.compile(r"#?(?:\w+-)?((?:foot|end)note)-(?:ref-)?(\w+)")  # addresses and ids a converter gives to notes
_BEGIN, _END = "\ue000", "\ue001"  # round the name of a footnote, where it is referred to
_RAISED = str.maketrans("0123456789+-−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁻")


def list_pieces(html: str) -> list[Piece]:
    """The pieces of a document in order. Text is Markdown; nothing of the markup goes further."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    reader.finish()
    return with_tables_of_tabs([_with_notes(piece, reader.notes) for piece in reader.pieces])


def build_outline(html: str, pictures: dict[str, bytes] | None = None) -> Outline:
    pieces = list_pieces(html)
    return Outline(pieces[:MOST], pictures or {}, notes=["cut"] if len(pieces) > MOST else [])


def escape(text: str) -> str:
    """Text as Markdown that says just that."""
    return _SPECIAL.sub(r"\\\1", text)


def raise_figures(text: str) -> str:
    """Raised figures: "10" and a raised "3" are not 103."""
    return text.translate(_RAISED) if re.fullmatch(r"[-+−]?\d+", text.strip()) else text


def _note_name(match) -> str:
    return f"{match[1]}{match[2]}" if match else ""


def _with_notes(piece: Piece, notes: dict[str, str]) -> Piece:
    """Footnotes in brackets where they are referred to."""

    def get_text(text: str) -> str:
        return re.sub(f"{_BEGIN}(\\w+){_END}", lambda m: f" ({notes[m[1]]})" if notes.get(m[1]) else "", text)

    rows = tuple(tuple(get_text(cell) for cell in row) for row in piece.rows)
    return Piece(piece.kind, get_text(piece.text).strip(), piece.level, rows)


@dataclass
class _Table:
    rows: list[list[Cell]] = field(default_factory=list)
    after: list[Piece] = field(default_factory=list)  # pictures and tables inside its cells
    size: tuple[int, int] = (1, 1)
    outer: str = ""  # text of the cell that this table is in, so far


class _Reader(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.pieces: list[Piece] = []
        self.lists: list[str] = []  # "ol" or "ul", the innermost last
        self.items: list[tuple[str, int]] = []  # of each open item its kind and depth
        self.text, self.level, self.skip, self.is_title = "", 0, 0, False
        self.tables: list[_Table] = []
        self.links: list[tuple[str, int]] = []
        self.raised: list[int] = []
        self.notes: dict[str, str] = {}
        self.note = ""  # which footnote is being read

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if tag in SKIPPED:
            self.skip += 1
        elif tag == "table":
            self._begin_table()
        elif tag == "img":
            self._picture(a.get("src") or "")
        elif tag == "a":
            self.links = [(a.get("href") or "", len(self.text))]  # a link ends the one before it
        elif tag in STRUCK:
            self.text += "~~"
        elif tag == "sup":
            self.raised.append(len(self.text))
        elif self.tables:
            self._start_in_table(tag, a)
        elif tag in MARKS:
            self.text += MARKS[tag]
        else:
            self._start_block(tag, a)

    def _start_in_table(self, tag, a) -> None:
        if tag == "tr":
            self.tables[-1].rows.append([])
        elif tag in ("td", "th"):
            self.tables[-1].after += self._stray()
            self.tables[-1].size = (span(a.get("colspan")), span(a.get("rowspan")))
        elif tag == "br" or tag in BLOCKS:
            self.text += " "

    def _start_block(self, tag, a) -> None:
        if tag in ("ol", "ul"):
            self.flush()
            self.lists.append(tag)
        elif tag == "li":
            self.flush()
            self.note = _note_name(_NOTE.fullmatch(a.get("id") or ""))
            self.items.append((self.lists[-1] if self.lists else "ul", len(self.lists)))
        elif re.fullmatch(r"h[1-6]", tag):
            self.flush()
            self.level = int(tag[1])
        elif tag == "br":
            self.text += "\n"
        elif tag in BLOCKS:
            self.flush(inside=bool(self.items))
            self.is_title = TITLE in (a.get("class") or "").split()

    def handle_endtag(self, tag):
        if tag in SKIPPED:
            self.skip = max(0, self.skip - 1)
        elif tag == "a" and self.links:
            self._end_link(*self.links.pop())
        elif tag in STRUCK:
            self._close("~~")
        elif tag == "sup" and self.raised:
            began = self.raised.pop()
            self.text = self.text[:began] + raise_figures(self.text[began:])
        elif tag == "table" and self.tables:
            self._end_table()
        elif self.tables:
            if tag in ("td", "th") and self.tables[-1].rows:
                self.tables[-1].rows[-1].append(Cell(" ".join(clean(self.text).split()), *self.tables[-1].size))
                self._begin_text()
        elif tag in MARKS:
            self._close(MARKS[tag])
        elif tag in ("li", "ol", "ul"):
            self.flush()
            left = self.items if tag == "li" else self.lists
            if left:
                left.pop()
            self.note = "" if tag == "li" else self.note
        elif tag in BLOCKS:
            self.flush(inside=bool(self.items) and tag == "p")

    def _begin_table(self) -> None:
        if not self.tables:
            self.flush()
        self.tables.append(_Table(outer=self.text))
        self._begin_text()

    def _end_table(self) -> None:
        table = self.tables.pop()
        rows = rows_of_cells(table.rows)
        table.after += self._stray()
        self._begin_text(table.outer)
        pieces = [Piece("table", rows=rows)] if rows else []
        if rows and all(len(row) == 1 for row in rows):  # a frame round a paragraph
            pieces = [Piece("text", escape(row[0])) for row in rows]
        home = self.tables[-1].after if self.tables else self.pieces
        home += pieces + table.after

    def _stray(self) -> list[Piece]:
        """What was read since the last cell of a table ended: in the table, but in none of its cells."""
        text = " ".join(clean(self.text).split())
        self._begin_text()
        return [Piece("text", escape(text))] if text else []

    def _end_link(self, address: str, began: int) -> None:
        """The words with their address; of a footnote its mark, to be filled in when it is read."""
        label = self.text[began:]
        if match := _NOTE.fullmatch(address):
            self.text = self.text[:began] + ("" if self.note else f"{_BEGIN}{_note_name(match)}{_END}")
        elif address.startswith(("http://", "https://")) and label.strip():
            plain = re.sub(r"\\(.)", r"\1", label).strip()
            is_same = plain.rstrip("/") == address.rstrip("/")
            self.text = self.text[:began] + (label if is_same or self.tables else f"[{label.strip()}]({address})")
            self.text += f" ({address})" if self.tables and not is_same else ""

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
            data = data.replace(_BEGIN, "").replace(_END, "")
            self.text += data if self.tables else escape(data)

    def _picture(self, name: str) -> None:
        if not self.tables:
            self.flush()
        if name:
            (self.tables[-1].after if self.tables else self.pieces).append(Piece("picture", name))

    def _begin_text(self, text: str = "") -> None:
        """Other text from here on, in which raised figures and links that are open have no place yet."""
        self.text, self.raised = text, []
        self.links = [(address, len(text)) for address, _began in self.links if not _NOTE.fullmatch(address)]

    def finish(self) -> None:
        """End what is still open."""
        while self.tables:
            self._end_table()
        self.flush()

    def flush(self, inside: bool = False) -> None:
        """End a block. The first paragraph of an item is the item; what follows it inside belongs to it."""
        lines = (
            "\t".join(" ".join(cell.split()) for cell in line.split("\t")) for line in clean(self.text).split("\n")
        )
        text = "\n".join(lines).strip()
        self._begin_text()
        level, self.level = self.level, 0
        is_title, self.is_title = self.is_title, False
        if not text:
            return
        if self.note:
            text_of_note = f"{self.notes.get(self.note, '')} {' '.join(text.replace('↑', '').split())}"
            self.notes[self.note] = text_of_note.strip()
        elif level or is_title:
            self.pieces.append(Piece("title" if is_title else "heading", _one_line(text), level))
        elif self.items:
            self._item(text.replace("\t", " "))
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


def _one_line(text: str) -> str:
    """A heading: one line of plain words, without marks."""
    return re.sub(r"\\(.)", r"\1", " ".join(text.replace("**", "").split()))
