"""A guide file over the draft of its own name: what changes is shown first, then the draft says what the file says."""

from builds.guides.editor.edits import one_edit, tables_key
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.guide_file.read import name_in, read_guide
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Revision
from builds.guides.pictures.saving import replace_picture


def draft_of(raw: bytes, person) -> Revision | None:
    """The designer's draft that a file is of; None where there is none. Raises GuideErrors."""
    key, letter = name_in(raw)
    drafts = Revision.objects.designed_by(person).drafts().select_related("kit")
    return drafts.filter(kit__key=key, letter=letter).first()


def read_over(raw: bytes, draft: Revision) -> dict:
    """The file's guide; pictures of the draft count as there. Raises GuideErrors."""
    return read_guide(raw, known=frozenset(draft.pictures.values_list("name", flat=True)))


def changes(draft: Revision, data: dict) -> list:
    return by_figure(table_differences(as_tables(draft), data | {"translations": {}}))


def version(draft: Revision) -> str:
    return tables_key(as_tables(draft))[:16]


def import_over(draft: Revision, person, data: dict, shown: str) -> bool:
    """Make the draft say what the file says, as one edit; pictures of the same name are replaced. False where the
    draft was edited after its changes were shown."""
    with one_edit(draft, person, "guide-import") as before:
        if tables_key(before)[:16] != shown:
            return False
        for name, raw in data["pictures"].items():
            replace_picture(draft, name, raw)
        apply_tables(draft, data)
        if data.get("translations"):
            draft.translations = data["translations"]
            draft.save(update_fields=["translations"])
    return True
