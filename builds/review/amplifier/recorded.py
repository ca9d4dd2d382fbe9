"""Which recordings the builds of a kit have."""

from builds.bench.models import Recording
from builds.guides.models import Kit, Revision
from builds.review.models import ReferenceBuild
from checks.serials import natural


def list_recordings(kit: Kit) -> list[Recording]:
    """Measured recordings of all builds of a kit, the newest of each build and signal first. One query."""
    rows = (
        Recording.objects.filter(build__revision__kit=kit, state=Recording.State.ANALYSED, stage__isnull=False)
        .select_related("build__revision", "stage")
        .defer("results")
    )
    return sorted(rows, key=lambda row: (row.build.revision.letter, natural(row.build.serial), row.plan["signal"]))


def by_signal(rows: list[Recording]) -> list[list[Recording]]:
    """The recordings of each test signal together: only those can be compared."""
    groups: dict[tuple, list[Recording]] = {}
    for row in rows:
        groups.setdefault((row.plan["signal"], *row.plan["hertz"]), []).append(row)
    return [groups[signal] for signal in sorted(groups)]


def find_reference(revision: Revision):
    """The build that this revision's are compared with; None until one is named."""
    reference = ReferenceBuild.objects.filter(revision=revision).select_related("build").first()
    return reference and reference.build


def name_reference(revision: Revision, build, by) -> ReferenceBuild:
    row, _is_new = ReferenceBuild.objects.update_or_create(revision=revision, defaults={"build": build, "by": by})
    return row
