"""Pages of long lists."""

from urllib.parse import urlencode


def page_number(request, name: str = "page") -> int:
    """The page asked for; the first where the address says nothing of use."""
    typed = request.GET.get(name, "")
    return max(1, int(typed)) if typed.isdecimal() and typed.isascii() and len(typed) < 6 else 1


class Pages:
    """Where a page stands among others: `before` and `after` are their addresses, empty at the ends."""

    def __init__(self, number: int, total: int, size: int, filters=()):
        self.number, self.total = number, total
        self.count = -(-total // size) or 1
        self._filters = [(name, value) for name, value in filters if value]

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
        return f"?{urlencode([*self._filters, ('page', number)])}"
