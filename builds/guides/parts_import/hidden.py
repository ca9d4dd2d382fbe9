"""What a spreadsheet hides: filtered and hidden rows, hidden columns and sheets. What its maker cannot see is not read,
and the page says so."""

import re
from dataclasses import dataclass
from itertools import count

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

NAMED = 8  # of the things left out
_ROW = re.compile(rb"<(?:\w+:)?row\b([^>]*)>")
_COLUMN = re.compile(rb"<(?:\w+:)?col\b([^>]*)>")
_HIDDEN = re.compile(rb"\bhidden\s*=\s*[\"'](?:1|true)[\"']|\b(?:ht|width)\s*=\s*[\"']0(?:\.0*)?[\"']")
_NUMBERS = re.compile(rb"\b(r|min|max)\s*=\s*[\"'](\d{1,7})[\"']")


@dataclass(frozen=True)
class Grid:
    """A sheet as it lies in its file. Rows and columns count from 0."""

    name: str
    rows: list[list[str]]
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    struck: frozenset[int] = frozenset()  # rows that are struck through
    is_hidden: bool = False

    def shown(self) -> list[list[str]]:
        return [
            [cell for c, cell in enumerate(row) if c not in self.hidden_columns]
            for r, row in enumerate(self.rows)
            if r not in self.hidden_rows
        ]

    def left_out(self) -> tuple[str, ...]:
        """What is not read, in sentences; nothing of rows and columns that are empty."""
        rows = [row for r, row in enumerate(self.rows) if r in self.hidden_rows and any(row)]
        columns = [name for c in sorted(self.hidden_columns) if (name := self._head(c))]
        sentences = []
        if rows:
            names = _some([next(filter(None, row)) for row in rows])
            left = ngettext(
                "%(n)d hidden row was not read: %(names)s.", "%(n)d hidden rows were not read: %(names)s.", len(rows)
            )
            sentences.append(left % {"n": len(rows), "names": names})
        if columns:
            left = ngettext(
                "%(n)d hidden column was not read: %(names)s.",
                "%(n)d hidden columns were not read: %(names)s.",
                len(columns),
            )
            sentences.append(left % {"n": len(columns), "names": _some(columns)})
        return tuple(sentences)

    def struck_through(self) -> tuple[str, ...]:
        """What is read although its maker struck it through, in a sentence."""
        rows = [self.rows[r] for r in sorted(self.struck) if r not in self.hidden_rows]
        names = [next(filter(None, row)) for row in rows if any(row)]
        if not names:
            return ()
        read = ngettext(
            "%(n)d row is struck through and was read all the same: %(names)s.",
            "%(n)d rows are struck through and were read all the same: %(names)s.",
            len(names),
        )
        return (read % {"n": len(names), "names": _some(names)},)

    def _head(self, column: int) -> str:
        return next((row[column] for row in self.rows if column < len(row) and row[column]), "")


def sheets_left_out(names: list[str]) -> tuple[str, ...]:
    if not names:
        return ()
    left = ngettext(
        "%(n)d hidden sheet was not read: %(names)s.", "%(n)d hidden sheets were not read: %(names)s.", len(names)
    )
    return (left % {"n": len(names), "names": _some(names)},)


def with_hidden(name: str) -> str:
    """What the sheet is called when its hidden rows and columns are read too."""
    return (_("%(name)s, including what is hidden") % {"name": name})[:60]


def hidden_rows(xml: bytes) -> frozenset[int]:
    """Rows of a worksheet (ECMA-376, 18.3.1.73) that are hidden, filtered away or of no height."""
    hidden, following = set(), count()
    for match in _ROW.finditer(xml):
        numbers = dict(_NUMBERS.findall(match[1]))
        if b"r" in numbers:
            following = count(int(numbers[b"r"]) - 1)
        row = next(following)
        if _HIDDEN.search(match[1]):
            hidden.add(row)
    return frozenset(hidden)


def hidden_columns(xml: bytes, most: int) -> frozenset[int]:
    """Columns of a worksheet (ECMA-376, 18.3.1.13) that are hidden or of no width."""
    hidden: set[int] = set()
    for match in _COLUMN.finditer(xml):
        numbers = dict(_NUMBERS.findall(match[1]))
        if _HIDDEN.search(match[1]) and b"min" in numbers:
            first = int(numbers[b"min"])
            last = int(numbers.get(b"max") or numbers[b"min"])
            hidden |= set(range(first - 1, min(last, most)))
    return frozenset(hidden)


def _some(names: list[str]) -> str:
    shown = ", ".join(" ".join(name.split())[:24] for name in names[:NAMED])
    return f"{shown} …" if len(names) > NAMED else shown
