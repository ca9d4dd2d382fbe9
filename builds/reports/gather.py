"""Everything a fault summary says, gathered once; the PDF, the page and the JSON are made from it."""
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q
from django.utils import timezone

from builds.bench.models import Build, Photo, Reading, Snag, Standing
from builds.guides.figures import band_for
from builds.review.models import Cause, Triage
from builds.review.pooled import found_of
from builds.review.queries import StageRow, checks_of, stage_table
from checks.band import Band
from checks.pooled.findings import Found
from checks.pooled.proportions import Share, wilson
from checks.pooled.summary import Summary, summarise
from checks.quantity import format_quantity


@dataclass(frozen=True)
class Finding:
    """One check or step with trouble, with its evidence and what to do about it. Harm: 4 worst, 1 least."""

    harm: int
    title: str
    stage: str
    unit: str
    missed: Share
    band: Band | None
    summary: Summary | None
    meaning: Found | None
    values: tuple[float, ...]
    snags: tuple
    photos: tuple
    causes: tuple[str, ...]
    suggestion: str
    stops: int

    @property
    def rank(self):
        return (-self.harm, -(self.missed.share or 0), -self.missed.n)


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
    stages: tuple[StageRow, ...]
    deviations: tuple


def gather(revision) -> FaultSummary:
    """Read a revision's builds; a fixed number of queries however many there are."""
    builds = tuple(Build.objects.filter(revision=revision).select_related("builder", "meter"))
    mains, meters = defaultdict(int), defaultdict(int)
    for build in builds:
        if build.builder_id:
            mains[f"{build.mains_volts} V {build.mains_hertz} Hz"] += 1
            meters[build.meter.name if build.meter else "not said"] += 1
    deviations = tuple(Reading.objects.filter(build__revision=revision).exclude(outcome="in band").select_related(
        "build__builder", "check_row__stage").order_by("check_row__stage__position", "check_row__position",
                                                       "build__serial", "attempt"))
    return FaultSummary(revision, timezone.now(), builds, sum(1 for b in builds if b.started_at),
                        sum(1 for b in builds if b.finished_at), dict(mains), dict(meters),
                        tuple(sorted(_findings(revision), key=lambda f: f.rank)), tuple(stage_table(revision)), deviations)


def _findings(revision):
    standings = defaultdict(list)
    for row in Standing.objects.filter(build__revision=revision).select_related("latest"):
        standings[row.check_row_id].append(row)
    snags = list(Snag.objects.filter(build__revision=revision).select_related(
        "build__builder", "stage", "step", "check_row", "part"))
    photos = defaultdict(list)
    for photo in Photo.objects.filter(build__revision=revision).exclude(snag=None):
        photos[photo.snag_id].append(photo)
    triages = Triage.objects.filter(Q(build__revision=revision) | Q(snag__build__revision=revision))
    by_check, by_snag = defaultdict(list), {}
    for triage in triages:
        if triage.snag_id:
            by_snag[triage.snag_id] = triage
        else:
            by_check[triage.check_row_id].append(triage)
    for check in checks_of(revision):
        said = [s for s in snags if s.check_row_id == check.pk]
        if any(s.first_outcome != "in band" for s in standings[check.pk]) or said:
            yield _about_check(check, standings[check.pk], said, photos,
                               by_check[check.pk] + [by_snag[s.pk] for s in said if s.pk in by_snag])
    yield from _about_steps(snags, photos, by_snag, len({b for rows in standings.values() for b in [r.build_id for r in rows]}))


def _about_check(check, rows, snags, photos, triages) -> Finding:
    missed = wilson(sum(r.first_outcome != "in band" for r in rows), len(rows))
    values = [r.latest.at_reference for r in rows if r.latest.at_reference is not None]
    summary = summarise(values, sum(r.latest.over_range for r in rows))
    stops = sum("switch off" in (r.first_outcome, r.outcome) for r in rows)
    danger = any(s.severity == Snag.Severity.DANGER for s in snags)
    out = any(r.outcome in ("out of band", "switch off") or r.first_outcome == "out of band" for r in rows)
    harm = 4 if stops or danger else 3 if out and check.stage.is_powered else 2 if out else 1
    band = band_for(check)
    sense = found_of(rows, band, len(snags))
    return Finding(harm, check.title, check.stage.title, check.unit, missed, band, summary, sense, tuple(values),
                   tuple(snags), tuple(p for s in snags for p in photos[s.pk]), _causes(triages),
                   _planned(triages) or suggest(check, band, summary, sense, missed), stops)


def _about_steps(snags, photos, triages, taking_part):
    groups = defaultdict(list)
    for snag in snags:
        if not snag.check_row_id:
            groups[(snag.stage, snag.step, snag.part)].append(snag)
    for (stage, step, part), said in groups.items():
        harm = 4 if any(s.severity == Snag.Severity.DANGER for s in said) else 2 if len(said) > 1 else 1
        title = f"Step “{step.key}”" if step else f"Part {part.ref}" if part else "The stage as a whole"
        decided = [triages[s.pk] for s in said if s.pk in triages]
        words = step.text.replace("*", "") if step else ""
        builds = {s.build_id for s in said}
        yield Finding(harm, title, stage.title, "", wilson(len(builds), max(taking_part, len(builds))), None, None, None, (),
                      tuple(said), tuple(p for s in said for p in photos[s.pk]), _causes(decided),
                      _planned(decided) or (f"Rewrite this step: {words[:160]}" if step else
                                            "Read the builders' words and mend what they stumbled over."), 0)


def _causes(triages) -> tuple[str, ...]:
    return tuple(sorted({Cause(t.cause).label for t in triages if t.cause != Cause.UNKNOWN}))


def _planned(triages) -> str:
    """The designer's own planned changes win over anything worked out here."""
    return " ".join(dict.fromkeys(t.planned_change.strip() for t in triages if t.planned_change.strip()))


def suggest(check, band, summary, sense, missed) -> str:
    """A suggested edit in words, from the numbers."""
    if sense.kind == "figure off" and summary.median is not None and band and band.expected is not None:
        return (f"Change the expected value from {format_quantity(band.expected, check.unit)} to "
                f"{format_quantity(summary.median, check.unit)}: {sense.words} First look whether the part or the printed "
                "figure is at fault.")
    return {
        "figure off": "Move the band to where the builds read, if the circuit is right.",
        "part batch": f"Compare the parts of the two groups before touching the guide. {sense.words}",
        "band too tight": "Widen the band: good builds scatter by more than it allows.",
        "single builds": "Keep the figure. Look at the builds that are out, and give the check a hint from what they had.",
        "step unclear": "Keep the figure. Say more clearly where to probe and what to wait for.",
        "not enough": f"Too early to say: {missed.n} build(s) so far.",
        "fits": "Nothing to change in the figure; read the snags.",
    }[sense.kind]
