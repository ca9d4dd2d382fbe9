"""A guide file over the draft of its own name: what changes is shown first, then the draft says what the file says."""

from builds.guides.editor.edits import one_edit, tables_key
from builds.guides.editor.kept_files import kept_files
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.compare import by_figure, table_differences
from builds.guides.guide_file.read import read_guide, read_kit_and_revision
from builds.guides.guide_file.write import as_tables
from builds.guides.models import Revision
from builds.guides.pictures.saving import replace_picture


def find_draft(raw: bytes, person) -> Revision | None:
    """The designer's draft that a file is of; None where there is none. Raises GuideErrors."""
    key, letter = read_kit_and_revision(raw)
    drafts = Revision.objects.designed_by(person).drafts().select_related("kit")
    return drafts.filter(kit__key=key, letter=letter).first()


def read_over(raw: bytes, draft: Revision) -> dict:
    """The file's guide; pictures of the draft count as there. Raises GuideErrors."""
    return read_guide(raw, known=frozenset(draft.pictures.values_list("name", flat=True)))


def changes(draft: Revision, data: dict) -> list:
    """What the file says otherwise, translations too; a file without any leaves those of the draft."""
    texts = draft.translations or {}
    now = as_tables(draft) | {"translations": texts}
    return by_figure(table_differences(now, data | {"translations": data.get("translations") or texts}))


def pictures_changed(draft: Revision, data: dict) -> list[str]:
    """Pictures of the file that the draft has not, or has with other content."""
    there = {picture.name: picture for picture in draft.pictures.filter(name__in=data["pictures"])}
    return [name for name, raw in data["pictures"].items() if name not in there or _content(there[name]) != raw]


def _content(picture) -> bytes:
    try:
        with picture.file.open("rb") as file:
            return file.read()
    except OSError:
        return b""


def version(draft: Revision) -> str:
    """Of all that an import would change, pictures and translations too."""
    return tables_key([as_tables(draft), kept_files(draft)])[:16]


def import_over(draft: Revision, person, data: dict, shown: str) -> bool:
    """Make the draft say what the file says, as one edit; pictures of the same name are replaced. False where the
    draft was edited after its changes were shown."""
    with one_edit(draft, person, "guide-import"):
        if version(draft) != shown:
            return False
        for name in pictures_changed(draft, data):
            replace_picture(draft, name, data["pictures"][name])
        apply_tables(draft, data)
        if data.get("translations"):
            draft.translations = data["translations"]
            draft.save(update_fields=["translations"])
    return True
