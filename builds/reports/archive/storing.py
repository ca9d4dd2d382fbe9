"""Archives made in the background and kept, one for each revision: a new one takes the place of the old."""

import tempfile
from uuid import uuid4

from django.core.files import File
from django.core.files.storage import default_storage
from django.utils import timezone

from builds.guides.models import Revision
from builds.jobs import queue
from builds.jobs.models import Job
from builds.jobs.registry import job
from builds.reports.archive.write import write_archive

KIND = "archive"


def key_for(revision) -> str:
    return str(revision.pk)


@job(KIND)
def make(report, pk: int) -> dict:
    """Write a revision's archive beside the old one, then let go of that; says where it is and how large."""
    revision = Revision.objects.select_related("kit").get(pk=pk)
    before = _names(pk)
    with tempfile.TemporaryFile() as out:
        photos = write_archive(out, revision, report)
        size = out.tell()
        out.seek(0)
        name = default_storage.save(f"archives/{pk}/{uuid4().hex}.zip", File(out))
    for old in before:
        default_storage.delete(f"archives/{pk}/{old}")
    return {"name": name, "bytes": size, "photos": photos, "made_at": timezone.now().isoformat()}


def _names(pk: int) -> list[str]:
    try:
        return default_storage.listdir(f"archives/{pk}")[1]
    except FileNotFoundError:
        return []


def find_job(revision) -> Job | None:
    """The job of this revision's archive, whatever its state."""
    return queue.find(KIND, key_for(revision))


def request_archive(revision) -> Job:
    """Begin an archive, unless one is under way."""
    return queue.start(KIND, key_for(revision), revision.pk, restart=True)


def open_archive(revision):
    """(file, job) of the finished archive; None when there is none, or its file is gone."""
    made = find_job(revision)
    if made is None or made.state != Job.State.DONE or not made.result:
        return None
    try:
        return default_storage.open(made.result["name"]), made
    except FileNotFoundError:
        return None
