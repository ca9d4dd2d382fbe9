"""Everything a fault summary says, gathered once; the PDF, the pages, the JSON and the archive are made from it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from builds.bench.models import Build, Reading
from builds.guides.circuit.stored import attach
from builds.reports.decided import DecidedList, decided_on
from builds.reports.evidence import gather_evidence
from builds.reports.findings import CheckNumbers, Finding, about_steps, look_at
from builds.review.changes.proof import ChangeProof, change_proofs
from builds.review.correlations import Correlation
from builds.review.correlations_cache import list_correlations
from builds.review.findings_cache import meanings
from builds.review.programme.times import medians_by_stage
from builds.review.queries import StageRow, list_checks, stage_table
from builds.review.read_counts import NONE, read_counts
from checks.outcomes import Outcome
from checks.serials import natural
from checks.statistics.proportions import Share, wilson

NOT_STATED = "not said"  # as files have it, of builds without a meter


class Deviations:
    """Every reading that was not in band, read anew and a few at a time whenever it is gone through."""

    def __init__(self, revision):
        self.rows = (
            Reading.objects.filter(build__revision=revision)
            .exclude(outcome=Outcome.IN_BAND)
            .select_related("build__builder", "check_row__stage")
            .order_by("check_row__stage__position", "check_row__position", "build__serial", "attempt")
        )

    def __iter__(self):
        return self.rows.iterator(chunk_size=1000)

    def __len__(self):
        return self.rows.count()


@dataclass(frozen=True)
class FaultSummary:
    revision: object
    made_at: datetime
    builds: tuple
    under_way: int
    finished: int
    mains: dict
    meters: dict
    findings: tuple[Finding, ...]
    checks: tuple[CheckNumbers, ...]
    stages: tuple[StageRow, ...]
    minutes: dict  # stage key: median minutes at work of the builds that finished it, breaks left out
    changes: DecidedList
    proofs: tuple[ChangeProof, ...]  # of what the revision itself changed
    deviations: Deviations
    correlations: tuple[Correlation, ...] = ()  # of the readings, with batches, makes of valve, meters, mains

    def load_points(self, findings) -> None:
        """The plots' points of some findings, before they are drawn. Two queries; what was not loaded is loaded at once
        when it is drawn."""
        checks = {f.check for f in findings if f.check}
        for points in {f.plot_points for f in findings}:
            points.load(checks)

    @property
    def people(self) -> int:
        return len({b.builder_id for b in self.builds if b.builder_id})

    @property
    def first_pass(self) -> Share:
        """Checks in band at the first attempt, over the whole guide."""
        return wilson(sum(s.first_pass.successes for s in self.stages), sum(s.first_pass.n for s in self.stages))

    @property
    def stage_minutes(self) -> list[tuple]:
        """[(stage row, median minutes or None)]."""
        return [(s, self.minutes.get(s.key)) for s in self.stages]


def gather(revision) -> FaultSummary:
    """Read a revision's builds; a fixed number of queries however many there are."""
    builds = tuple(
        sorted(
            Build.objects.filter(revision=revision).select_related("builder", "meter"), key=lambda b: natural(b.serial)
        )
    )
    mains: dict[str, int] = defaultdict(int)
    meters: dict[str, int] = defaultdict(int)
    for build in builds:
        if build.builder_id:
            mains[f"{build.mains_volts} V {build.mains_hertz} Hz"] += 1
            meters[build.meter.name if build.meter else NOT_STATED] += 1
    checks = list_checks(revision)
    evidence, counts = gather_evidence(revision, checks, builds), read_counts(checks)
    numbers, findings = _looked_at(revision, checks, counts, evidence)
    findings += about_steps(evidence, Build.objects.filter(revision=revision).exclude(statuses=None).count())
    return FaultSummary(
        revision,
        timezone.now(),
        builds,
        sum(1 for b in builds if b.started_at),
        sum(1 for b in builds if b.finished_at),
        dict(mains),
        dict(meters),
        tuple(sorted(findings, key=lambda f: f.rank)),
        tuple(numbers),
        tuple(stage_table(revision, checks, counts)),
        medians_by_stage(revision),
        decided_on(revision),
        tuple(change_proofs(revision)),
        Deviations(revision),
        tuple(list_correlations(revision, counts=counts)),
    )


def _looked_at(revision, checks, counts, evidence):
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    by_check = meanings(checks, counts)
    looked_at = [look_at(c, counts.get(c.pk, NONE), by_check[c.pk], evidence) for c in checks]
    return [row for row, _ in looked_at], [finding for _, finding in looked_at if finding]
