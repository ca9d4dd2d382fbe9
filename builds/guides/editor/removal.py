"""Deleting a draft, and a kit that has never had an issued revision."""

from django.db import transaction

from builds.guides.editor.meanwhile import EditedMeanwhile
from builds.guides.guide_file.import_over import version
from builds.guides.models import Kit, Revision
from builds.guides.revisions import NotReady, hold


def is_unused(kit: Kit) -> bool:
    """Was no revision of the kit ever issued? Then nobody can have built it."""
    return not kit.revisions.exclude(state=Revision.State.DRAFT).exists()


@transaction.atomic
def delete_draft(revision: Revision, shown: str) -> None:
    """Delete a draft with its pictures, and its kit where that was the last. Raises NotReady for what is no draft, and
    EditedMeanwhile where it is not of the version `shown`."""
    hold(revision.kit_id)
    revision.refresh_from_db(fields=["state"])
    if not revision.is_draft:
        raise NotReady("Only a draft can be deleted.")
    if version(revision) != shown:
        raise EditedMeanwhile
    kit = revision.kit
    files = [file for picture in revision.pictures.all() for file in (picture.file, picture.shown) if file]
    pictures = [(file.storage, str(file.name)) for file in files]
    revision.delete()
    if is_unused(kit) and not kit.revisions.exists():
        kit.delete()
    transaction.on_commit(lambda: _delete_files(pictures))


def _delete_files(files: list[tuple]) -> None:
    for storage, name in files:
        storage.delete(name)
