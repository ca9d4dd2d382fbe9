"""Text with separated columns: its encoding and its separator found out, and its rows."""

import codecs
import csv
from collections import Counter

from django.utils.translation import gettext as _

from builds.guides.parts_import.code_pages import known_as
from builds.guides.parts_import.errors import UnreadableFile

SEPARATORS = "\t;|,"  # the first wins where two fit alike: a decimal comma is the likelier comma
MAX_ROWS, MAX_COLUMNS, MAX_CELL = 2_000, 60, 2_000
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))


_FOREIGN = ((b"%PDF", "PDF"), (b"{\\rtf", "RTF"), (b"<!doctype", "HTML"), (b"<html", "HTML"), (b"<?xml", "XML"))


def decode(raw: bytes, accepted: str = "CSV, TSV, XLSX, ODS") -> str:
    """The text of a file, whatever it is written in (`decode_with`)."""
    return decode_with(raw, accepted)[0]


def decode_with(raw: bytes, accepted: str = "CSV, TSV, XLSX, ODS") -> tuple[str, str]:
    """(the text of a file, the code page that it was guessed to be in): by its mark, else UTF-8, else the code page
    that makes sense of it; "" where nothing was guessed. Raises UnreadableFile for what is no plain text, naming what
    is `accepted`."""
    start = raw[:64].lstrip(b"\xef\xbb\xbf \r\n\t").lower()
    if kind := next((name for mark, name in _FOREIGN if start.startswith(mark.lower())), ""):
        raise UnreadableFile(
            _("This is a file of the kind %(kind)s. Accepted: %(accepted)s.") % {"kind": kind, "accepted": accepted}
        )
    for mark, encoding in _MARKS:
        if raw.startswith(mark):
            return _decoded(raw, encoding), ""
    if len(raw) > 3 and (wide := _without_mark(raw)):
        return _decoded(raw, wide), ""
    if b"\0" in raw[:1000]:
        raise UnreadableFile(_("This is not a text file. Accepted: %(accepted)s.") % {"accepted": accepted})
    try:
        return raw.decode("utf-8"), ""
    except UnicodeDecodeError:
        page = known_as(raw[:200_000])
        return _decoded(raw, page), page


def _without_mark(raw: bytes) -> str:
    """UTF-16 without its mark: of western text every other byte is zero."""
    low, high = raw[:1000:2], raw[1:1000:2]
    if 0 not in low and high.count(0) > 0.9 * len(high):
        return "utf-16-le"
    return "utf-16-be" if 0 not in high and low.count(0) > 0.9 * len(low) else ""


def _decoded(raw: bytes, encoding: str) -> str:
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError as error:
        raise UnreadableFile(_("The characters of this file cannot be read. Save it as CSV in UTF-8.")) from error


def read_delimited(text: str) -> list[list[str]]:
    """Rows of cells, in the separator under which most rows have the same number of columns."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")
    readings = [_rows(text, separator) for separator in SEPARATORS]
    return max(readings, key=_fit)


def _rows(text: str, separator: str) -> list[list[str]]:
    rows = []
    try:
        for row in csv.reader(text.split("\n"), delimiter=separator, skipinitialspace=True):
            rows.append([cell.strip()[:MAX_CELL] for cell in row[:MAX_COLUMNS]])
            if len(rows) > MAX_ROWS:
                raise UnreadableFile(_("This list has more than 2,000 rows."))
    except csv.Error:
        rows = [[cell.strip()[:MAX_CELL] for cell in line.split(separator)] for line in text.split("\n")]
    return _without_frame(rows) if separator == "|" else rows


def _without_frame(rows: list[list[str]]) -> list[list[str]]:
    """A table drawn with bars: without its rules and outer bars."""
    rows = [row for row in rows if not (any(row) and all(set(cell) <= set("-:= ") for cell in row))]
    filled = [row for row in rows if any(row)]
    if filled and all(row[0] == "" for row in filled):
        rows = [row[1:] for row in rows]
    return rows


def _fit(rows: list[list[str]]) -> tuple[float, int]:
    """How well a separator fits: the share of rows with the usual number of columns, where there are any."""
    counts = Counter(len(row) for row in rows if any(row))
    wide = Counter({n: times for n, times in counts.items() if n > 1})
    if not wide:
        return (0.0, 0)
    usual, times = max(wide.items(), key=lambda item: (item[1], item[0]))
    return (times / sum(counts.values()), min(usual, 3))
