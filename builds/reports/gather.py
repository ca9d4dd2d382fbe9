"""Everything a fault summary says, gathered once; the PDF, the pages, the JSON and the archive are made from it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from builds.bench.models import Build, Reading
from builds.guides.circuit.stored import attach
from builds.reports.changes import ChangeList, change_list
from builds.reports.evidence import evidence_of, rows_by_check
from builds.reports.findings import CheckNumbers, Finding, about_steps, look_at
from builds.review.changes.proof import ChangeProof, change_proofs
from builds.review.correlations import Circumstances, Correlation, of_revision
from builds.review.findings_cache import meanings
from builds.review.programme.times import medians_by_stage
from builds.review.queries import StageRow, checks_of, stage_table
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
    changes: ChangeList
    proofs: tuple[ChangeProof, ...]  # of what the revision itself changed
    deviations: Deviations
    correlations: tuple[Correlation, ...] = ()  # of the readings, with batches, makes of valve, meters, mains

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
    mains, meters = defaultdict(int), defaultdict(int)
    for build in builds:
        if build.builder_id:
            mains[f"{build.mains_volts} V {build.mains_hertz} Hz"] += 1
            meters[build.meter.name if build.meter else NOT_STATED] += 1
    checks, evidence = checks_of(revision), evidence_of(revision, builds)
    numbers, findings, readings, taking_part = _looked_at(revision, checks, evidence)
    findings += about_steps(evidence, taking_part)
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
        tuple(stage_table(revision, checks)),
        medians_by_stage(revision),
        change_list(revision),
        tuple(change_proofs(revision)),
        Deviations(revision),
        tuple(of_revision(revision, Circumstances(revision), readings)),
    )


def _looked_at(revision, checks, evidence):
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    by_check, place = meanings(checks), {pk: n for n, pk in enumerate(evidence.serials)}
    looked_at, readings, taking_part = {}, {}, set()
    for check, rows in rows_by_check(checks):
        rows.sort(key=lambda row: place[row.build])
        looked_at[check.pk] = look_at(check, rows, by_check[check.pk], evidence)
        readings[check.pk] = [(r.build, None, r.at_reference) for r in rows if r.at_reference is not None]
        taking_part.update(r.build for r in rows)
    in_order = [looked_at[check.pk] for check in checks]
    return [row for row, _ in in_order], [finding for _, finding in in_order if finding], readings, len(taking_part)
