"""Files made to break what reads them: refused by a look at their outside, in memory and time that do not grow."""

import io
import re
import struct

from django.utils.translation import gettext as _
from PIL import Image

from builds.guides.guide_file.errors import FileProblem, GuideErrors

MAX_DIRECTORY = 400_000  # bytes of a zip's list of files: 300 files with long names have a tenth of it
MAX_PIXELS, MAX_ALL_PIXELS = 24_000_000, 120_000_000
MAX_DEPTH = 30  # names between dots
MAX_LINES = 100_000  # a guide of 300 parts and 400 checks has some 10,000
# TOML's own strings, comments and names (toml.io, version 1.0.0): what looks like a name within a string is words.
_SEVERAL_LINES = r"""\"{3}(?:[^"\\]|\\.|\"(?!\"\"))*+\"{3,5}|'{3}(?:[^']|'(?!''))*+'{3,5}"""
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
_DOT = r"[ \t]*+\.[ \t]*+"
_TOKEN = re.compile(
    rf"#[^\n]*+|{_SEVERAL_LINES}|(?P<deep>{_PART}(?:{_DOT}{_PART}){{{MAX_DEPTH}}})|{_PART}(?:{_DOT}{_PART})*+"
    r"""|[^\w"'#-]++|.""",
    re.DOTALL,
)


def refuse_long_directory(raw: bytes) -> None:
    """Raise GuideErrors for a zip whose list of files is too long to be read."""
    if has_long_directory(raw):
        raise GuideErrors([FileProblem(0, "file", _("This zip has more than 300 files."))])


def has_long_directory(raw: bytes) -> bool:
    """Is a zip's list of files, which is read whole into memory, longer than any that is accepted here? Told by its end
    (PKWARE's APPNOTE, 4.3.16)."""
    end = raw.rfind(b"PK\x05\x06", max(0, len(raw) - 65_557))
    if end < 0 or len(raw) < end + 22:
        return False  # zipfile says what is wrong
    size = struct.unpack_from("<L", raw, end + 12)[0]
    return size > MAX_DIRECTORY or b"PK\x06\x07" in raw[max(0, end - 20) : end]


def refuse_many_pixels(pictures: dict[str, bytes]) -> None:
    """Raise GuideErrors for pictures too large to be decoded one after the other, by what their heads say."""
    pixels_left = MAX_ALL_PIXELS
    for name, content in pictures.items():
        pixels = _pixels(content)
        pixels_left -= pixels
        if pixels > MAX_PIXELS:
            raise GuideErrors([FileProblem(0, f"picture {name}", _("This picture has more than 24 million pixels."))])
        if pixels_left < 0:
            raise GuideErrors([FileProblem(0, "file", _("The pictures have more than 120 million pixels together."))])


def _pixels(content: bytes) -> int:
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as image:
            return image.width * image.height
    except Image.DecompressionBombError:
        return MAX_PIXELS + 1
    except (OSError, ValueError, SyntaxError):
        return 0  # said by who reads it


def refuse_deep_keys(text: str) -> None:
    """Raise GuideErrors for names like a.b.c… of thousands of parts, quoted or not, and for a text of lines alone."""
    if text.count("\n") > MAX_LINES:
        message = _("The guide has more than %(most)s lines.") % {"most": MAX_LINES}
        raise GuideErrors([FileProblem(0, "TOML", message)])
    for token in _TOKEN.finditer(text):
        if token.lastgroup == "deep":
            line = text.count("\n", 0, token.start()) + 1
            raise GuideErrors([FileProblem(line, "TOML", _("Lists or tables are nested too deeply."))])
