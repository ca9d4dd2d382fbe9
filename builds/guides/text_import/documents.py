"""Documents of word processors and plain text as outlines. What they say is taken; how it looked is not."""

import io
import re

import mammoth
from django.utils.translation import gettext as _
from markdown_it import MarkdownIt

from builds.guides.parts_import.delimited import decode
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.packages import open_package
from builds.guides.text_import.images import Pictures
from builds.guides.text_import.markup import outline_of
from builds.guides.text_import.odt import read_odt
from builds.guides.text_import.outline import Outline

MAX_TEXT = 2_000_000
_MARKDOWN = MarkdownIt("commonmark", {"html": False}).enable("table")
_STAGE = re.compile(r"(?:stage|step group|part|chapter|stufe|abschnitt)\s+\d{1,2}\s*[:.–—-]\s*\S.*", re.IGNORECASE)
_BAR = re.compile(r"\d{1,3}\)\s+")


def read_document(raw: bytes) -> Outline:
    """The outline of an upload. Raises UnreadableFile."""
    if not raw.startswith(b"PK"):
        return read_text(decode(raw))
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
    if not text.strip():
        raise UnreadableFile(_("This document has no text."))
    return outline_of(_MARKDOWN.render(_as_markdown(text)))


def _as_markdown(text: str) -> str:
    """Plain text's own ways made into Markdown's: "Stage 2: Supply" is a heading, "3) Fit R1" a numbered item."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    has_headings = any(re.match(r"#{1,6}\s", line) for line in lines)
    markdown = []
    for line in lines:
        bare = line.strip()
        if not has_headings and (_STAGE.fullmatch(bare) or _is_shouted(bare)):
            markdown += ["", f"## {bare.title() if _is_shouted(bare) else bare}", ""]
        else:
            markdown.append(_BAR.sub(lambda m: m[0].replace(")", "."), line, count=1) if _BAR.match(line) else line)
    return "\n".join(markdown)


def _is_shouted(line: str) -> bool:
    """A line of capitals alone, such as "FIRST POWER", but no list of references."""
    return bool(re.fullmatch(r"[A-ZÄÖÜ][A-ZÄÖÜ ,/-]{4,60}", line)) and not re.search(r"\d", line)


def _read_docx(raw: bytes) -> Outline:
    pictures = Pictures()

    def keep(image):
        with image.open() as file:
            return {"src": pictures.add(file.read())}

    try:
        done = mammoth.convert_to_html(io.BytesIO(raw), convert_image=mammoth.images.img_element(keep))
    except UnreadableFile:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        raise UnreadableFile(_("This document cannot be read. Save it again, or paste its text.")) from error
    outline = outline_of(done.value, pictures.kept)
    outline.left_out = pictures.left_out
    return outline
