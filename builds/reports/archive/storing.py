"""Archives made in the background and kept, one for each revision: a new one takes the place of the old."""

import tempfile
from uuid import uuid4

from django.core.files import File
from django.core.files.storage import default_storage
from django.utils import timezone

from builds.bench.models import Photo
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
    _delete(pk, before)
    return {"name": name, "bytes": size, "photos": photos, "made_at": timezone.now().isoformat()}


def _names(pk: int) -> list[str]:
    try:
        return default_storage.listdir(f"archives/{pk}")[1]
    except FileNotFoundError:
        return []


def _delete(pk: int, names: list[str]) -> None:
    for name in names:
        default_storage.delete(f"archives/{pk}/{name}")


def delete_archives(pk: int) -> None:
    """Of the revision with this key: a photo in them was withdrawn."""
    _delete(pk, _names(pk))


def find_job(revision) -> Job | None:
    """The job of this revision's archive, whatever its state; None for one that holds a photo withdrawn since."""
    job = queue.find(KIND, key_for(revision))
    return None if job and job.state == Job.State.DONE and _holds_withdrawn(job, revision) else job


def _holds_withdrawn(made: Job, revision) -> bool:
    """Photos are read while an archive is made: one withdrawn after it was begun may be in it."""
    begun = made.started_at or made.made_at
    return Photo.with_withdrawn.filter(build__revision=revision, withdrawn_at__gte=begun).exists()


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
