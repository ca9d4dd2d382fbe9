"""The middle reading of each check over the builds of a revision."""
from statistics import median

from builds.bench.models import Standing
from builds.guides.models import Revision


def medians(revision: Revision) -> dict[int, float]:
    """Check id -> median over builds of the latest mains-corrected value, SI. Over-range readings are left out."""
    values: dict[int, list[float]] = {}
    latest = (Standing.objects.filter(build__revision=revision, latest__at_reference__isnull=False)
              .values_list("check_row_id", "latest__at_reference"))
    for check_id, value in latest:
        values.setdefault(check_id, []).append(value)
    return {check_id: median(found) for check_id, found in values.items()}
