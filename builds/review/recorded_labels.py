"""The labels recorded of a revision's builds (part batches, makes of valve, meters, mains), which may part them."""

import hashlib
from collections import defaultdict

from django.db.models import Count, Max

from builds.bench.models import Build, CheckStatus, FittedValve
from builds.review.correlations import Circumstances
from builds.review.models import PartBatch
from checks.statistics.dependence import CircumstanceKind

LABELS = (CircumstanceKind.BATCH, CircumstanceKind.MAKE, CircumstanceKind.METER, CircumstanceKind.MAINS)


def labels_token(revision) -> str:
    """Changes when a label does. Three queries."""
    builds = Build.objects.filter(revision=revision).order_by("pk").values_list("pk", "meter_id", "mains_volts")
    valves = FittedValve.objects.filter(build__revision=revision).aggregate(n=Count("pk"), last=Max("pk"))
    batched = PartBatch.builds.through.objects.filter(partbatch__revision=revision)
    batches = batched.aggregate(n=Count("pk"), last=Max("pk"))
    return hashlib.sha256(repr((list(builds), valves, batches)).encode()).hexdigest()


def list_labels(revision, checks) -> dict[int, dict[str, dict[int, str]]]:
    """Check id -> label -> build id -> its group, of what was fitted when the check was read last."""
    around = Circumstances(revision)
    if not around.any_swap:
        builds = list(around.builds)
        same = _named(around, builds, [(pk, None) for pk in builds])
        return dict.fromkeys([c.pk for c in checks], same)
    moments = defaultdict(list)
    rows = CheckStatus.objects.filter(check_row__in=[c.pk for c in checks]).order_by("pk")
    for check, build, moment in rows.values_list("check_row_id", "build_id", "latest__at"):
        moments[check].append((build, moment))
    return {c.pk: _named(around, [b for b, _ in moments[c.pk]], moments[c.pk]) for c in checks}


def _named(around: Circumstances, builds, readings) -> dict[str, dict[int, str]]:
    groups = around.groups(readings)
    return {what.code: dict(zip(builds, names, strict=True)) for what, names in groups.items() if what.kind in LABELS}
