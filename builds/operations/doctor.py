"""Looks at what should fit together, and mends what can be mended without a loss: files that no row refers to."""

import time
from dataclasses import dataclass, field

from django.apps import apps
from django.core.files.storage import default_storage
from django.db import connection
from django.db.models import FileField

from builds.guides.editor.kept_files import files_of_edits
from builds.jobs.models import Job
from builds.operations import health
from builds.operations.stored_files import names

YOUNG = 2 * 24 * 3600  # s: a file of a post or an import that is under way has no row yet


@dataclass
class Findings:
    troubles: list[str] = field(default_factory=list)
    orphans: list[str] = field(default_factory=list)  # files without a row
    missing: list[str] = field(default_factory=list)  # rows without their file

    @property
    def is_well(self) -> bool:
        return not (self.troubles or self.orphans or self.missing)


def examine(now: float | None = None) -> Findings:
    known, findings = _known_files(), Findings(health.find_problems())
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA quick_check")
            verdict = cursor.fetchone()[0]
        if verdict != "ok":
            findings.troubles.append(f"database damaged: {verdict}")
    there, limit = set(names()), (now or time.time()) - YOUNG
    findings.orphans = sorted(name for name in there - known if _age_mark(name) < limit)
    findings.missing = sorted(known - there - files_of_edits())
    return findings


def _age_mark(name: str) -> float:
    return default_storage.get_modified_time(name).timestamp()


def _known_files() -> set[str]:
    """The files that rows name: photos, pictures, archives; and pictures that an undo would bring back."""
    known: set[str] = set()
    for model in apps.get_models():
        for name in [f.name for f in model._meta.fields if isinstance(f, FileField)]:
            known.update(model._base_manager.exclude(**{name: ""}).values_list(name, flat=True))
    known.discard(None)  # a file that may be missing
    made = Job.objects.filter(kind="archive", state=Job.State.DONE).values_list("result", flat=True)
    return known | files_of_edits() | {result["name"] for result in made if result}


def mend(findings: Findings) -> int:
    """Delete the files that no row refers to."""
    for name in findings.orphans:
        default_storage.delete(name)
    return len(findings.orphans)
