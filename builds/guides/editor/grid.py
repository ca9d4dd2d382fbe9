"""Rows of a guide as one grid: what was posted, what a person really changed, and what changed meanwhile."""

import re
from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.guides.editor.conflicts import Clash
from builds.guides.editor.edits import row_version
from builds.guides.row_labels import field_label

MOST_ROWS = 1_000
_NAME = re.compile(r"row-(\d{1,4})-([a-z_]+)")


@dataclass(frozen=True)
class GridRow:
    """One posted row: `was` is the key it had ("" for a new one), `version` that of its cells when they were shown."""

    number: int
    was: str
    version: str
    is_gone: bool
    cells: dict[str, str]

    @property
    def is_empty(self) -> bool:
        return not any(self.cells.values())

    @property
    def is_touched(self) -> bool:
        return self.is_gone or not self.was or row_version(self.cells) != self.version


@dataclass
class GridState:
    """What came of a posted grid: by row number its errors by column and its clashes."""

    errors: dict[int, dict[str, list[str]]] = field(default_factory=dict)
    clashes: dict[int, list[Clash]] = field(default_factory=dict)
    general: list[str] = field(default_factory=list)
    saved: int = 0

    @property
    def saved_sentence(self) -> str:
        """What the page says after a good post."""
        if not self.saved:
            return _("Nothing was changed.")
        return ngettext("Saved %(n)d row.", "Saved %(n)d rows.", self.saved) % {"n": self.saved}

    @property
    def is_good(self) -> bool:
        return not (self.errors or self.clashes or self.general)

    def refuse(self, number: int, column: str, message: str) -> None:
        self.errors.setdefault(number, {}).setdefault(column, []).append(message)


def posted_rows(post, columns: tuple[str, ...]) -> list[GridRow]:
    """The rows of a posted grid in their order, empty new ones left out."""
    raw: dict[int, dict[str, str]] = {}
    for name in post:
        if match := _NAME.fullmatch(name):
            raw.setdefault(int(match[1]), {})[match[2]] = post[name]
    rows = [_row(number, raw[number], columns) for number in sorted(raw)[:MOST_ROWS]]
    return [row for row in rows if row.was or not row.is_empty]


def _row(number: int, posted: dict[str, str], columns) -> GridRow:
    cells = {name: " ".join(posted.get(name, "").split()) for name in columns}
    return GridRow(number, posted.get("was", ""), posted.get("version", ""), bool(posted.get("gone")), cells)


def list_clashes(row: GridRow, now: dict[str, str] | None) -> list[Clash]:
    """Where a touched row began from other cells than the draft has by now; `now` is None for a deleted row."""
    if not row.was or not row.is_touched:
        return []
    if now is None:
        return [] if row.is_gone else [Clash(_("row"), _("deleted"), row.was)]
    if row_version(now) == row.version:
        return []
    if row.is_gone:
        return [Clash(_("row"), _("edited"), _("deleted"))]
    return [Clash(field_label(k), now[k], cell) for k, cell in row.cells.items() if now.get(k, "") != cell]
