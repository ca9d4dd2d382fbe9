"""A parts list that was pasted or uploaded, beside the draft: shown before anything is saved."""

import re
from dataclasses import asdict, dataclass
from itertools import zip_longest

from django.utils.translation import gettext as _

from builds.guides.editor.edits import one_edit, tables_key
from builds.guides.editor.judging import changed_rows, judge_tables
from builds.guides.guide_file import shape
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.parts_import.code_pages import CODE_PAGES, foreign_words, read_again
from builds.guides.parts_import.columns import FIELDS, guess
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.parts_import.hidden import with_hidden
from builds.guides.parts_import.merge import PartChange, apply_merge, missing_from, plan_merge
from builds.guides.parts_import.references import NUMBERED
from builds.guides.parts_import.sheet import Sheet, as_text, from_text, read_file, read_text
from builds.guides.parts_import.table import Table, read_table
from builds.guides.row_labels import field_label, value_text
from builds.ui.drawings.socket import BASES

CHOSEN = {"kind": shape.KINDS, "base": tuple(BASES), "value": ()}  # what is chosen, or typed, beside an error
LONGEST = 60  # letters of what is typed there
LONGEST_REMARK, MOST_REMARKS = 400, 6  # on what was left out of a sheet
_OLD = re.compile(
    r"\b(?:old|alte?|archiv\w*|backup|sicherung|nicht|do not|unused|obsolete|veraltet|entw[uü]rf\w*|ancien\w*)\b",
    re.IGNORECASE,
)  # a sheet that its maker calls so
MOST_OTHERS = 6  # sheets carried along while one is looked at


@dataclass(frozen=True)
class Preview:
    """The sheet, what its columns hold, the parts and errors, and the changes that saving would make."""

    sheet: Sheet
    others: tuple[Sheet, ...]  # sheets of the same file that hold parts as well
    fields: tuple[str, ...]
    has_head: bool
    table: Table
    changes: tuple[PartChange, ...]
    missing: tuple[str, ...]
    remove_gone: bool
    problems: tuple[str, ...]  # what the rules of the guide file have against the list as it would be

    @property
    def may_save(self) -> bool:
        return bool(self.changes) and not self.table.errors and not self.problems

    @property
    def key(self) -> str:
        """What would be done, as a hash: saved is what was shown."""
        return tables_key([asdict(change) for change in self.changes])

    @property
    def has_other_sheets(self) -> bool:
        """Are there other sheets, beside this one with more or less of what is hidden in it?"""
        same = {self.sheet.name, with_hidden(self.sheet.name)}
        return any(s.name not in same and with_hidden(s.name) not in same for s in self.others)

    @property
    def code_pages(self) -> list[tuple[str, object, bool]]:
        return [(key, label, key == self.sheet.page) for key, label in CODE_PAGES.items()]

    @property
    def foreign_words(self) -> list[str]:
        """Words of the list that another code page would spoil; none where nothing had to be guessed."""
        return foreign_words(as_text(self.sheet.rows)) if self.sheet.page else []

    @property
    def columns(self) -> list[dict]:
        """Each column with its head, what it is taken for and a few of its cells."""
        body = self.sheet.rows[1:] if self.has_head else self.sheet.rows
        return [
            {
                "number": n,
                "head": self.sheet.rows[0][n] if self.has_head else "",
                "field": field,
                "cells": [row[n] for row in body if row[n]][:3],
            }
            for n, field in enumerate(self.fields)
        ]

    @property
    def errors(self) -> list[dict]:
        """Errors with what stands in their row; one that several parts of a row share is told once."""
        seen, rows = set(), []
        for error in self.table.errors:
            is_chosen = error.field in CHOSEN and bool(error.ref)
            if is_chosen or (error.row, error.field, error.message) not in seen:
                seen.add((error.row, error.field, error.message))
                label = FIELDS.get(error.field) or field_label(error.field)
                place = _("Row %(row)d, %(column)s:") % {"row": error.row, "column": label}
                cells = " · ".join(filter(None, self._row(error)))
                line = {"error": error, "row": place, "cells": cells}
                if is_chosen:
                    now = self.table.chosen.get(error.ref, {}).get(error.field, "")
                    line |= {"choice": f"choose-{error.field}-{error.ref}", "options": CHOSEN[error.field], "now": now}
                rows.append(line)
        return rows

    @property
    def rows_without_parts(self) -> list[str]:
        """Rows that were taken for headings, notes and sums, as they stand in the sheet."""
        rows = (self.sheet.rows[number - 1] for number in self.table.skipped)
        return [" · ".join(filter(None, row)) for row in rows]

    @property
    def carried(self) -> list[tuple[str, str]]:
        """What was chosen before and is no error any more, as fields of the form."""
        asked = {line.get("choice") for line in self.errors}
        made = [
            (f"choose-{name}-{ref}", value)
            for ref, choices in self.table.chosen.items()
            for name, value in choices.items()
        ]
        return [(name, value) for name, value in made if name not in asked]

    def _row(self, error):
        return self.sheet.rows[error.row - 1]

    def of(self, kind: str) -> list[PartChange]:
        return [change for change in self.changes if change.kind == kind]

    @property
    def added(self) -> list[dict]:
        return [{"ref": c.ref, "row": c.row, "words": part_on_one_line(c.row)} for c in self.of("added")]

    @property
    def changed(self) -> list[dict]:
        return [
            {
                "ref": change.ref,
                "label": field_label(field.key),
                "before": value_text(field.key, field.before),
                "after": value_text(field.key, field.after),
            }
            for change in self.of("changed")
            for field in change.fields
        ]


def part_on_one_line(row: dict) -> str:
    """A part on one line: "4k7 1% 0.6 W"."""
    keys = ("value", "type", "tolerance", "power", "volts", "amps", "base")
    return " ".join(str(row[key]) for key in keys if row.get(key))


def sheets_from(post, files) -> list[Sheet]:
    """The sheets of an upload, a paste, or the rows carried over from the page before. Raises UnreadableFile."""
    if "file" in files:
        return read_file(files["file"].read())
    if post.get("rows"):
        names, rows, remarks = (post.getlist(f"other-{name}")[:MOST_OTHERS] for name in ("name", "rows", "remarks"))
        now = (post.get("sheet-read", ""), post["rows"], post.get("remarks", ""))
        sheets = [now, *zip_longest(names, rows, remarks, fillvalue="")]
        page, again = post.get("page-was", ""), post.get("page", "")
        return [_in_page(name[:60], rows, page, again, _lines(lines)) for name, rows, lines in sheets if rows.strip()]
    return [read_text(post.get("paste", ""))]


def _lines(remarks: str) -> tuple[str, ...]:
    return tuple(line[:LONGEST_REMARK] for line in remarks.splitlines()[:MOST_REMARKS] if line.strip())


def _in_page(name: str, rows: str, page: str, again: str, remarks: tuple[str, ...]) -> Sheet:
    """A sheet whose letters are read in the code page that was chosen. Raises UnreadableFile."""
    if page not in CODE_PAGES:
        return Sheet(name, from_text(rows), remarks=remarks)
    again = again if again in CODE_PAGES else page
    try:
        return Sheet(name, from_text(read_again(rows, page, again)), again, remarks)
    except UnicodeError as error:
        message = _("These letters are not in the code page “%(page)s”. Go back and choose another.")
        raise UnreadableFile(message % {"page": CODE_PAGES[again]}) from error


def build_preview(draft, post, sheets: list[Sheet]) -> Preview:
    sheet = _chosen(sheets, post.get("sheet") or post.get("sheet-read", ""))
    fields, has_head = _fields(sheet, post)
    tables = as_tables(draft)
    existing = tables["part"]
    table = read_table(sheet.rows, fields, has_head, frozenset(part["ref"] for part in existing), _chosen_for(post))
    remove_gone = bool(post.get("remove_gone"))
    changes = tuple(plan_merge(existing, table.parts, remove_gone=remove_gone))
    return Preview(
        sheet,
        tuple(s for s in sheets if s is not sheet and _worth(s))[:MOST_OTHERS],
        tuple(fields),
        has_head,
        table,
        changes,
        tuple(missing_from(existing, table.parts)),
        remove_gone,
        _problems(draft, tables, changes),
    )


def _chosen_for(post) -> dict[str, dict[str, str]]:
    """{reference: {field: what was chosen}} of the fields of the form that stand beside errors."""
    chosen: dict[str, dict[str, str]] = {}
    for name, value in post.items():
        match = re.fullmatch(r"choose-([a-z]+)-([\w.]{1,20})", name)
        if not match or match[1] not in CHOSEN:
            continue
        choice = value.strip()[:LONGEST]
        if choice in CHOSEN[match[1]] or choice and not CHOSEN[match[1]]:
            chosen.setdefault(match[2], {})[match[1]] = choice
    return chosen


def _problems(draft, tables: dict, changes) -> tuple[str, ...]:
    after = tables | {"part": apply_merge(tables["part"], list(changes))}
    changed = changed_rows("part", tables["part"], after["part"], "ref")
    pictures = frozenset(draft.pictures.values_list("name", flat=True))
    verdict = judge_tables(tables, after, pictures, changed)
    return tuple(f"{problem.label}: {problem.message}" for problem in (*verdict.own, *verdict.dangers))


def _chosen(sheets: list[Sheet], name: str) -> Sheet:
    """The sheet of that name, else the one whose rows give most parts, as its maker sees it."""
    named = [sheet for sheet in sheets if name and sheet.name == name]
    if not sheets:
        raise UnreadableFile("")
    return named[0] if named else max(sheets, key=lambda s: (s.is_first_choice, not _OLD.search(s.name), _listed(s)))


def _listed(sheet: Sheet) -> tuple[int, int]:
    """(how many numbered references a sheet lists, those with an error too; how many parts of it can be saved)."""
    table = read_table(sheet.rows, *guess(sheet.rows))
    return sum(NUMBERED.fullmatch(ref) is not None for ref in table.row_of), len(table.parts)


def _worth(sheet: Sheet) -> int:
    return len(read_table(sheet.rows, *guess(sheet.rows)).parts)


def _fields(sheet: Sheet, post) -> tuple[list[str], bool]:
    guessed, has_head = guess(sheet.rows)
    if "columns" not in post or post.get("sheet"):  # another sheet has other columns
        return guessed, has_head
    chosen = [post.get(f"column-{n}", guessed[n]) for n in range(len(guessed))]
    return [field if field in FIELDS else "" for field in chosen], bool(post.get("has_head"))


def save_import(draft, person, post, preview: Preview) -> Preview | None:
    """Save what was shown, as one edit; or, where the draft was edited meanwhile, give back what would be done now."""
    with one_edit(draft, person, "parts-import") as before:
        now = build_preview(draft, post, [preview.sheet])
        if not now.may_save or now.key != post.get("plan"):
            return now
        apply_tables(draft, before | {"part": apply_merge(before["part"], list(now.changes))})
    return None
