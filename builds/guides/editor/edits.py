"""One edit of a draft at a time: kept, so that it can be undone, and never over somebody else's."""

import hashlib
import json
from contextlib import contextmanager

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.guides.editor.kept_files import kept_files, restore_files
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.models import DraftEdit, Revision
from builds.guides.revisions import hold

MOST_UNDOABLE = 50  # edits of a draft that can be undone
SENTENCES = {  # of every kind of edit
    "guide": gettext_lazy("Name and mains edited"),
    "add": gettext_lazy("Added: %(about)s"),
    "edit": gettext_lazy("Edited: %(about)s"),
    "move": gettext_lazy("Moved: %(about)s"),
    "delete": gettext_lazy("Deleted: %(about)s"),
    "figure": gettext_lazy("Figure taken from the circuit: %(about)s"),
    "parts-import": gettext_lazy("Parts list imported from a spreadsheet"),
    "parts-grid": gettext_lazy("Parts edited in the grid"),
    "wiring": gettext_lazy("Wiring edited"),
    "picture": gettext_lazy("Picture edited: %(about)s"),
    "picture-add": gettext_lazy("Pictures added: %(about)s"),
    "picture-delete": gettext_lazy("Picture deleted: %(about)s"),
    "map": gettext_lazy("Point placed on a picture: %(about)s"),
    "block": gettext_lazy("Building block placed: %(about)s"),
    "checks-grid": gettext_lazy("Checks edited in the grid"),
    "proposals": gettext_lazy("Proposed checks applied: %(about)s"),
    "text-import": gettext_lazy("Text imported: %(about)s"),
    "guide-import": gettext_lazy("Guide file imported over the draft"),
    "replace": gettext_lazy("Find and replace: %(about)s"),
    "copy": gettext_lazy("Copied from another kit: %(about)s"),
}


@contextmanager
def one_edit(revision: Revision, person, what: str, about: str = ""):
    """Have the draft to oneself, and keep what it was before where something changes. A failure changes nothing."""
    with transaction.atomic():
        hold(revision.kit_id)
        revision.refresh_from_db(fields=["state"])
        if not revision.is_draft:
            raise PermissionDenied(_("This revision was issued in the meantime and can no longer be edited."))
        before, files = as_tables(revision), kept_files(revision)
        yield before
        revision.refresh_from_db()
        after = as_tables(revision)
        if after != before or kept_files(revision) != files:
            _record(revision, person, what, about, before | files, after)


@transaction.atomic
def keep_picture_edit(revision: Revision, person, what: str, about: str, files: dict) -> None:
    """Keep an edit of pictures that was made file by file, without holding the kit: `files` is what was before."""
    hold(revision.kit_id)
    revision.refresh_from_db()
    now = as_tables(revision)
    if kept_files(revision) != files:
        _record(revision, person, what, about, now | kept_files(revision) | files, now)


def _record(revision, person, what: str, about: str, before: dict, after: dict) -> None:
    DraftEdit.objects.create(
        revision=revision, by=person, what=what, about=about[:200], before=before, after_key=tables_key(after)
    )
    old = revision.edits.values_list("pk", flat=True)[MOST_UNDOABLE:]
    DraftEdit.objects.filter(pk__in=list(old)).delete()


def tables_key(tables) -> str:
    """A hash of what a guide, or a part of one, says."""
    return hashlib.sha256(json.dumps(tables, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def row_version(row: dict) -> str:
    """A row's version: a hash of what it says. Two rows of one version are the same text."""
    return tables_key(row)[:16]


def last_edit(revision: Revision) -> DraftEdit | None:
    return revision.edits.select_related("by").first()


@transaction.atomic
def undo(revision: Revision, edit_pk: int) -> bool:
    """Take the last edit back. False where another edit came meanwhile, or this one was undone already."""
    hold(revision.kit_id)
    revision.refresh_from_db(fields=["state"])
    edit = last_edit(revision)
    if not revision.is_draft or edit is None or edit.pk != edit_pk:
        return False
    restore_files(revision, edit.before)
    apply_tables(revision, edit.before)
    edit.delete()
    return True


def edit_sentence(edit: DraftEdit) -> str:
    """What was done, as a sentence."""
    return str(SENTENCES.get(edit.what, edit.what)) % {"about": edit.about}
