"""Everything that happened to a build, in order of time."""
from dataclasses import dataclass
from datetime import datetime

from builds.bench.models import Build


@dataclass(frozen=True)
class Event:
    at: datetime
    kind: str  # reading, snag, photo, made safe, concession, step, message
    row: object


def history(build: Build) -> list[Event]:
    """Newest last. Seven queries, however long the build took."""
    sources = [
        ("reading", build.readings.select_related("check_row__stage")),
        ("snag", build.snags.select_related("stage", "check_row")),
        ("photo", build.photos.select_related("stage")),
        ("made safe", build.made_safes.all()),
        ("concession", build.concessions.select_related("check_row", "by")),
        ("step", build.ticks.select_related("step__stage")),
        ("stage", build.visits.select_related("stage")),
    ]
    events = [Event(row.opened_at if kind == "stage" else row.at, kind, row) for kind, rows in sources for row in rows]
    return sorted(events, key=lambda event: (event.at, event.kind, event.row.pk))
