"""Which pictures and translations a draft had, kept with each edit, so that undo brings those back too."""

from builds.guides.models import DraftEdit, Picture, Revision
from builds.guides.pictures.saving import show_restored

FILES, TEXTS = "files", "translations"  # beside the tables that an edit keeps


def kept_files(revision: Revision) -> dict:
    """Name of each picture with its stored file, and the translations. The files stay in the store: nothing deletes
    them while an edit names them."""
    return {
        FILES: {p.name: {"file": p.file.name, "changes": p.changes} for p in revision.pictures.all()},
        TEXTS: revision.translations or {},
    }


def restore_files(revision: Revision, before: dict) -> None:
    """Pictures and translations as they were; an edit kept before these were says nothing of them."""
    if TEXTS in before and (revision.translations or {}) != before[TEXTS]:
        revision.translations = before[TEXTS] or None
        revision.save(update_fields=["translations"])
    if FILES not in before:
        return
    there = {picture.name: picture for picture in revision.pictures.all()}
    for name, picture in there.items():
        if before[FILES].get(name, {}).get("file") != picture.file.name:
            picture.delete()
    for name, row in before[FILES].items():
        if name not in there or there[name].file.name != row["file"]:
            show_restored(Picture(revision=revision, name=name, file=row["file"]), row["changes"])


def pictures_undone(revision: Revision, before: dict) -> tuple[list[str], list[str]]:
    """(names of pictures that undo would take away, names of those it would bring back)."""
    was = {name: row["file"] for name, row in before.get(FILES, {}).items()}
    now = {p.name: p.file.name for p in revision.pictures.all()}
    if FILES not in before:
        return [], []
    return [n for n in now if n not in was], [n for n in was if now.get(n) != was[n]]


def files_of_edits() -> set[str]:
    """Every stored file that an edit may bring back."""
    pictures = DraftEdit.objects.values_list(f"before__{FILES}", flat=True)
    return {row["file"] for files in pictures if files for row in files.values()}
