"""How far each build has come in each stage, for the builds of one page."""

from dataclasses import dataclass

from django.db.models import Count

from builds.bench.models import CheckStatus


@dataclass(frozen=True)
class Progress:
    """Checks passed or conceded in one stage, of those it asks for."""

    passed: int
    asked: int
    title: str = ""

    @property
    def is_complete(self) -> bool:
        return bool(self.passed) and self.passed >= self.asked


def stage_progress(builds, checks) -> tuple[list, list]:
    """(stages, rows of (build, [Progress in each stage])); one query. Optional checks are not asked for."""
    stages: dict = {}
    required: dict[int, int] = {}
    for check in checks:
        stages.setdefault(check.stage_id, check.stage)
        required[check.stage_id] = required.get(check.stage_id, 0) + (not check.optional)
    grouped = CheckStatus.objects.filter(build__in=[b.pk for b in builds], passed=True, check_row__optional=False)
    passed = {
        (build, stage): n
        for build, stage, n in grouped.values_list("build_id", "check_row__stage_id").annotate(n=Count("pk"))
    }
    rows = [(b, [Progress(passed.get((b.pk, pk), 0), required[pk], stages[pk].title) for pk in stages]) for b in builds]
    return list(stages.values()), rows
