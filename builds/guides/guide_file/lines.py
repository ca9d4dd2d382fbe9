"""On which line a key of a guide file stands, for error messages."""
import re


class Lines:
    """Finds `[[stage.check]]` number n and a key inside it by reading the text the way a person would."""

    def __init__(self, text: str):
        self.rows = text.splitlines()
        self.starts: dict[str, list[int]] = {}
        for number, row in enumerate(self.rows, 1):
            if found := re.match(r"\s*\[\[?\s*([A-Za-z_.]+)\s*\]\]?", row):
                self.starts.setdefault(found[1], []).append(number)
        self.heads = sorted(n for numbers in self.starts.values() for n in numbers)

    def of(self, table: str, index: int, key: str = "") -> int:
        """The line of `key` in the index-th table of that name; the table's own line when the key is not there."""
        starts = self.starts.get(table, [])
        if index >= len(starts):
            return 0
        start = starts[index]
        end = next((n for n in self.heads if n > start), len(self.rows) + 1)
        pattern = re.compile(rf"\s*\"?{re.escape(key)}\"?\s*[=.]") if key else None
        for number in range(start, end):
            if pattern and pattern.match(self.rows[number - 1]):
                return number
        return start
