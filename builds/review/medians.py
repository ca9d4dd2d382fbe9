"""The median over builds of each check, at the guide's mains."""

from statistics import median

from builds.bench.models import CheckStatus


def medians(revision) -> dict[int, float]:
    """{check id: median of the builds' last readings}; one query."""
    by_check: dict[int, list[float]] = {}
    rows = CheckStatus.objects.filter(build__revision=revision, latest__at_reference__isnull=False).values_list(
        "check_row_id", "latest__at_reference"
    )
    for check, value in rows:
        if value is not None:  # left out above
            by_check.setdefault(check, []).append(value)
    return {check: median(values) for check, values in by_check.items()}
