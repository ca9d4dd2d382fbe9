"""One recording sent for two builds, two stages or two signals, or the sound card's own sent for an amplifier's: no two
hum, hiss and distort alike to the last digit."""

from django.db.models import QuerySet

from builds.bench.models import Recording
from checks.tone.marks import is_one_recording

FIGURES = (("tone", "hertz"), ("tone", "thd"), ("hum", "mains"), ("noise", "u"), ("response", "levels"))


def find_twin(recording: Recording) -> Recording | None:
    """The recording of the same kit, but not of the same signal of the same stage of the same build, whose samples or
    figures these are; or None. A builder may send a recording again, to correct the meter's reading.

    Samples tell also of one that was cut shorter or stored otherwise, figures of one measured before marks were kept.
    """
    others = _others(recording)
    for pk, marks in others.exclude(marks=[]).values_list("pk", "marks"):
        if is_one_recording(recording.marks, marks):
            return others.get(pk=pk)
    mine = _fingerprint(recording.results)
    alike = others.filter(plan=recording.plan, seconds=recording.seconds, rate=recording.rate, stage__isnull=False)
    return next((row for row in alike.exclude(build=recording.build_id) if _fingerprint(row.results) == mine), None)


def _others(recording: Recording) -> QuerySet[Recording]:
    """Those that it may be a copy of. One loop-back serves every build of its builder."""
    kit = recording.build.revision.kit_id
    others = Recording.objects.filter(state=Recording.State.ANALYSED, build__revision__kit=kit)
    if recording.stage_id is None:
        others = others.exclude(stage=None)
    others = others.exclude(build=recording.build_id, stage=recording.stage_id, plan=recording.plan)
    return others.exclude(pk=recording.pk).select_related("build", "stage")


def _fingerprint(results: list[dict]) -> list:
    """What no scale of volts changes."""
    return [(table["peak"], *(table.get(part, {}).get(name) for part, name in FIGURES)) for table in results]
