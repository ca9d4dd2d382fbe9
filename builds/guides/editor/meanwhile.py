"""What a person saw before they asked for a change, against what the draft says now: nothing goes on a stale page."""

from collections.abc import Iterator

from builds.guides.editor.edits import row_version, tables_key
from builds.guides.editor.renaming import NAMED
from builds.guides.guide_file.compare import Difference, by_figure, table_differences
from builds.guides.models import Check, DraftEdit, Revision, Step

EMPTY: dict = {"kit": {}, "point": [], "part": [], "stage": []}


class EditedMeanwhile(Exception):
    """Something is not what it was when it was shown."""


def row_piece(tables: dict, kind: str, row) -> dict:
    """The part of a guide's tables that says one row; of a stage its steps and checks too."""
    name = getattr(row, NAMED[kind])
    stage = row.stage.key if isinstance(row, Step | Check) else ""
    return next(piece for key, piece in _pieces(tables, kind) if key == (stage, name))


def _pieces(tables: dict, kind: str) -> Iterator[tuple[tuple[str, str], dict]]:
    """((stage, name), piece) of every row of a kind."""
    if kind in ("step", "check"):
        for stage in tables["stage"]:
            head = {"key": stage["key"], "title": stage["title"]}
            for row in stage.get(kind, []):
                yield (stage["key"], row["key"]), EMPTY | {"stage": [head | {kind: [row]}]}
        return
    for row in tables[kind]:
        yield ("", row[NAMED[kind]]), EMPTY | {kind: [row]}


def changes_since(draft: Revision, kind: str, now: dict, version: str) -> list[Difference]:
    """From what a page showed of a row, found by its version among what the edits keep, to what the row says now."""
    for edit in draft.edits.all().iterator(chunk_size=5):
        for _key, piece in _pieces(edit.before, kind):
            if row_version(piece) == version:
                return by_figure(table_differences(piece, now))
    return []


def differences_version(differences: list[Difference]) -> str:
    """A hash of changes as they were shown."""
    return tables_key([[d.where, d.key, str(d.before), str(d.after)] for d in differences])[:16]


def edits_since(draft: Revision, edit_pk: int) -> list[DraftEdit]:
    """The edits of a draft after one of them, the newest first."""
    return [*draft.edits.filter(pk__gt=edit_pk).select_related("by")]
