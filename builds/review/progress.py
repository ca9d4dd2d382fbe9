"""How far each build has come in each stage, for the builds of one page."""

from django.db.models import Count

from builds.bench.models import CheckStatus


def stage_progress(builds, checks) -> tuple[list, list]:
    """(stages, rows of (build, [(passed, to pass) for each stage])); one query. Optional checks are not asked for."""
    stages, asked = {}, {}
    for check in checks:
        stages.setdefault(check.stage_id, check.stage)
        asked[check.stage_id] = asked.get(check.stage_id, 0) + (not check.optional)
    grouped = CheckStatus.objects.filter(build__in=[b.pk for b in builds], passed=True, check_row__optional=False)
    passed = {
        (build, stage): n
        for build, stage, n in grouped.values_list("build_id", "check_row__stage_id").annotate(n=Count("pk"))
    }
    rows = [(b, [(passed.get((b.pk, pk), 0), asked[pk]) for pk in stages]) for b in builds]
    return list(stages.values()), rows
