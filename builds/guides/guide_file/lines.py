"""On which line a key of a guide file stands, for error messages."""

import re
from bisect import bisect_right


class Lines:
    """Finds `[[stage.check]]` number n and a key inside it by reading the text the way a person would."""

    def __init__(self, text: str):
        rows = text.splitlines()
        self.last = len(rows)
        self.rows = dict(_outside_strings(rows))
        self.starts: dict[str, list[int]] = {}
        for number, row in self.rows.items():
            if heading := re.match(r"\s*\[\[?\s*([A-Za-z_.]+)\s*\]\]?", row):
                self.starts.setdefault(heading[1], []).append(number)
        self.heads = sorted(n for numbers in self.starts.values() for n in numbers)

    def count(self, table: str) -> int:
        return len(self.starts.get(table, []))

    def of(self, table: str, index: int, key: str = "") -> int:
        """The line of `key` in the index-th table of that name; the table's own line when the key is not there."""
        starts = self.starts.get(table, [])
        if index >= len(starts):
            return 0
        start = starts[index]
        after = bisect_right(self.heads, start)
        end = self.heads[after] if after < len(self.heads) else self.last + 1
        pattern = re.compile(rf"\s*\"?{re.escape(key)}\"?\s*[=.]") if key else None
        for number in range(start, end):
            if pattern and pattern.match(self.rows.get(number, "")):
                return number
        return start


def _outside_strings(rows):
    """Yield (number, row) for rows that do not begin inside a string of several lines: what looks like a key there is
    words."""
    within = ""
    for number, row in enumerate(rows, 1):
        if not within:
            yield number, row
        within = _left_open(row, within)


def _left_open(row: str, within: str) -> str:
    """The mark of the string that is still open at the end of a row; empty when none is."""
    while row:
        if within:
            _before, mark, row = row.partition(within)
            within = "" if mark else within
        else:
            match = re.search(r"""#|\"{3}|'{3}|"(?:[^"\\]|\\.)*"|'[^']*'""", row)
            if not match or match[0] == "#":
                return ""
            within = match[0] if match[0] in ('"""', "'''") else ""
            row = row[match.end() :]
    return within
