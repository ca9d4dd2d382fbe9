"""What the dashboard is asked to show, read from the address so that a view can be kept and sent on."""
from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import QueryDict

PAGE_SIZE = 50
SORTS = {"serial": "Serial number", "progress": "Furthest first", "troubles": "Most troubles first"}


@dataclass(frozen=True)
class MatrixFilter:
    """Chosen stages (none means all), the sorting of builds, and the page (from 1)."""

    stages: tuple[str, ...] = ()
    sort: str = "serial"
    page: int = 1

    @classmethod
    def read(cls, query: QueryDict) -> "MatrixFilter":
        """Whatever makes no sense in an address falls back to the plain view: an old link still opens."""
        sort, page = query.get("sort", ""), query.get("page", "")
        return cls(tuple(query.getlist("stage")), sort if sort in SORTS else "serial",
                   int(page) if page.isascii() and page.isdigit() and 0 < len(page) < 7 and int(page) else 1)

    def address(self, **changes) -> str:
        """The query string of this filter with something changed; begins with "?"."""
        facts = {"stage": self.stages, "sort": self.sort, "page": self.page, **changes}
        pairs = [("stage", key) for key in facts["stage"]]
        pairs += [(name, facts[name]) for name, plain in (("sort", "serial"), ("page", 1)) if facts[name] != plain]
        return "?" + urlencode(pairs)
