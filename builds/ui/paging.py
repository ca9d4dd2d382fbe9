"""Pages of long lists."""

from urllib.parse import urlencode


def page_number(request, name: str = "page") -> int:
    """The page asked for; the first where the address says nothing of use."""
    typed = request.GET.get(name, "")
    return max(1, int(typed)) if typed.isdecimal() and typed.isascii() and len(typed) < 6 else 1


def count_pages(total: int, size: int) -> int:
    return -(-total // size) or 1


class Pages:
    """Where a page stands among others: `before` and `after` are their addresses, empty at the ends. `name`: of the
    page's number in an address. A number past the last page is the last: the list was longer when it was linked to."""

    def __init__(self, number: int, total: int, size: int, filters=(), name: str = "page"):
        self.total, self.name = total, name
        self.count, self.size = count_pages(total, size), size
        self.number = min(max(1, number), self.count)
        self._filters = [(name, value) for name, value in filters if value]

    def of(self, rows: list) -> list:
        """Those of the rows that are on this page."""
        return rows[(self.number - 1) * self.size : self.number * self.size]

    @property
    def several(self) -> bool:
        return self.count > 1

    @property
    def before(self) -> str:
        return self._address(self.number - 1) if self.number > 1 else ""

    @property
    def after(self) -> str:
        return self._address(self.number + 1) if self.number < self.count else ""

    def _address(self, number: int) -> str:
        return f"?{urlencode([*self._filters, (self.name, number)])}"
