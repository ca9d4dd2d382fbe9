"""Documents of word processors and plain text as outlines. What they say is taken; how it looked is not."""

import base64
import io
import re
from urllib.parse import unquote

import mammoth
from django.utils.translation import gettext as _
from markdown_it import MarkdownIt

from builds.guides.parts_import.delimited import decode
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.packages import open_package
from builds.guides.text_import.cleaning import clean
from builds.guides.text_import.images import Pictures
from builds.guides.text_import.markup import TITLE, build_outline
from builds.guides.text_import.odt import read_odt
from builds.guides.text_import.outline import Outline, Piece, is_row_of_tabs
from builds.guides.text_import.typed_marks import STAGE, is_in_capitals, title_case, with_typed_headings

MAX_TEXT = 2_000_000
MAX_LINES, MAX_CELLS = 40_000, 50_000  # of a plain text: each takes a reader up to 100 µs
MAX_MARKS = 50_000  # that Markdown looks at one by one, and at what they may belong to
MARKS = "*_[]`<&!\\"
STYLES = f"p[style-name='Title'] => p.{TITLE}:fresh\np[style-name='Subtitle'] => p:fresh\nstrike => s"
_MARKDOWN = MarkdownIt("commonmark", {"html": False}).enable("table")
_FOOTNOTE = re.compile(r"^ {0,3}\[\^")  # which is not the address of a link
_BAR = re.compile(r"\d{1,3}\)\s+")


def read_document(raw: bytes) -> Outline:
    """The outline of an upload. Raises UnreadableFile."""
    return with_typed_headings(_read(raw))


def _read(raw: bytes) -> Outline:
    if not raw.startswith(b"PK"):
        if raw.startswith(b"\xd0\xcf\x11\xe0"):
            raise UnreadableFile(_("This is an old binary document, or one with a password. Save it as DOCX or ODT."))
        return read_text(decode(raw, "DOCX, ODT, Markdown, TXT"))
    with open_package(raw) as archive:
        names = set(archive.namelist())
        if "word/document.xml" in names:
            return _read_docx(raw)
        if "content.xml" in names:
            return read_odt(raw, archive)
    raise UnreadableFile(_("This is not a text document. Accepted: DOCX, ODT, Markdown and plain text."))


def read_text(text: str) -> Outline:
    """Markdown, or plain text with numbered lines and headings of its own."""
    if len(text) > MAX_TEXT:
        raise UnreadableFile(_("This text is longer than 2 million characters."))
    if text.count("\n") + text.count("\r") > MAX_LINES or text.count("\t") + text.count("|") > MAX_CELLS:
        raise UnreadableFile(_("This text has too many lines or cells. Save only the part you need, and upload that."))
    if sum(map(text.count, MARKS)) > MAX_MARKS:
        sentence = _("This text has too many marks such as * or _. Save only the part you need, and upload that.")
        raise UnreadableFile(sentence)
    if not text.strip():
        raise UnreadableFile(_("This document has no text."))
    outline = build_outline(_MARKDOWN.render(_as_markdown(clean(text))))
    return with_typed_headings(_with_pictures(outline))


def _with_pictures(outline: Outline) -> Outline:
    """Pictures that are written into the text itself (RFC 2397) are unpacked; the others are names of files."""
    pictures, pieces = Pictures(), []
    for piece in outline.pieces:
        if piece.kind == "picture" and piece.text.startswith("data:"):
            piece = Piece("picture", pictures.add(_unpacked(piece.text)))
        if piece.kind != "picture" or piece.text:
            pieces.append(piece)
    return Outline(pieces, pictures.kept, pictures.left_out, outline.notes)


def _unpacked(address: str) -> bytes:
    _head, _comma, packed = address.partition(";base64,")
    try:
        return base64.b64decode(unquote(packed), validate=True)
    except ValueError:
        return b""


def _as_markdown(text: str) -> str:
    """Plain text's own ways made into Markdown's: "Stage 2: Supply" is a heading, "3) Fit R1" a numbered item."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    has_headings = any(re.match(r"#{1,6}\s", line) for line in lines)
    markdown = []
    for line in _tables_of_tabs(lines):
        bare = line.strip()
        if not has_headings and (STAGE.fullmatch(bare) or is_in_capitals(bare)):
            markdown += ["", f"## {title_case(bare)}", ""]
        else:
            line = _FOOTNOTE.sub(r"\\[^", line)
            markdown.append(_BAR.sub(lambda m: m[0].replace(")", "."), line, count=1) if _BAR.match(line) else line)
    return "\n".join(markdown)


def _tables_of_tabs(lines: list[str]) -> list[str]:
    """Lines with as many tabs each, two or more of them, made into a Markdown table."""
    with_tables: list[str] = []
    run: list[list[str]] = []
    for line in [*lines, ""]:
        cells = [cell.strip() for cell in line.split("\t")] if is_row_of_tabs(line) else []
        if len(cells) > 1 and (not run or len(cells) == len(run[0])):
            run.append(cells)
            continue
        with_tables += _rows(run)
        run = [cells] if len(cells) > 1 else []
        with_tables += [] if run else [line]
    return [*with_tables, *_rows(run)]


def _rows(run: list[list[str]]) -> list[str]:
    if len(run) < 2:
        return [" ".join(cells) for cells in run]
    rows = ["| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |" for cells in run]
    return ["", rows[0], "|" + " --- |" * len(run[0]), *rows[1:], ""]


def _read_docx(raw: bytes) -> Outline:
    pictures = Pictures()

    def keep(image):
        with image.open() as file:
            return {"src": pictures.add(file.read())}

    try:
        done = mammoth.convert_to_html(
            io.BytesIO(raw), convert_image=mammoth.images.img_element(keep), style_map=STYLES
        )
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This document cannot be read. Save it again, or paste its text.")) from error
    outline = build_outline(done.value, pictures.kept)
    outline.left_out = pictures.left_out
    outline.notes += _unread(raw)
    return outline


def _unread(raw: bytes) -> list[str]:
    """Codes of what the converter passes over: text deleted under tracked changes, formulas and drawn objects."""
    with open_package(raw) as archive:
        body = archive.read("word/document.xml")
    marks = {"tracked": (b"<w:del ", b"<w:ins "), "object": (b"<m:oMath", b"<w:object", b"<c:chart")}
    return [code for code, tags in marks.items() if any(tag in body for tag in tags)]
