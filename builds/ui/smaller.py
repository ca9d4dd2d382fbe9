"""Stylesheets and scripts without their comments and indentation, as they are sent; the files themselves keep both.

Deliberately modest: nothing is renamed or reordered. A script loses whole-line comments and leading spaces, so no
script may have a template literal that runs over lines (a test holds that).
"""

import re

COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
STRING = re.compile(r"(\"[^\"\n]*\"|'[^'\n]*')")


def smaller_css(text: str) -> str:
    """Strings are kept as they are: what is between quotation marks is content."""
    pieces = STRING.split(COMMENT.sub("", text))
    return "".join(piece if number % 2 else _squeezed(piece) for number, piece in enumerate(pieces)).strip()


def _squeezed(piece: str) -> str:
    piece = re.sub(r"\s+", " ", piece)
    return re.sub(r" ?([{};,]) ?", r"\1", piece).replace(";}", "}")


def smaller_js(text: str) -> str:
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


def smaller(name: str, content: bytes) -> bytes:
    """The content of a file of ours as it is sent; vendored files stay as their makers left them."""
    shrink = {".css": smaller_css, ".js": smaller_js}.get(name[name.rfind(".") :])
    if shrink is None or "/vendor/" in name:
        return content
    return shrink(content.decode()).encode()
