"""One recording sent for two builds: no two amplifiers hum, hiss and distort alike to the last digit."""

from builds.bench.models import Recording

FIGURES = (("tone", "hertz"), ("tone", "thd"), ("hum", "mains"), ("noise", "u"), ("response", "levels"))


def twin_of(recording: Recording, results: list[dict]) -> Recording | None:
    """The recording of another build that these results are those of, or None."""
    others = Recording.objects.filter(
        state=Recording.State.ANALYSED,
        plan=recording.plan,
        seconds=recording.seconds,
        rate=recording.rate,
        build__revision__kit=recording.build.revision.kit_id,
        stage__isnull=False,
    ).exclude(build=recording.build_id)
    mine = _fingerprint(results)
    return next((row for row in others.select_related("build") if _fingerprint(row.results) == mine), None)


def _fingerprint(results: list[dict]) -> list:
    """What no scale of volts changes."""
    return [(table["peak"], *(table.get(part, {}).get(name) for part, name in FIGURES)) for table in results]
