"""What went wrong in a revision's builds, check by check and step by step, with the evidence and the edits that mend
it."""

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.bench.models import Snag
from builds.guides.corrected import standing
from builds.guides.row_labels import correction_note
from builds.reports import edits
from builds.reports.figures import format_limits
from builds.reports.points import PlotPoints
from builds.reports.texts import median_text, with_over_range
from builds.review.changes.cases import build_case, list_misses, planned_change
from builds.review.changes.suggest import advise, suggest, suggest_step
from builds.review.models import Cause, Decision
from builds.review.problems.state import ProblemState, finding_state
from builds.review.read_counts import ReadCounts
from builds.review.readable import ReadableFinding
from builds.ui.drawings.order_plot import Point, order_plot
from builds.ui.messages.findings import agreement_sentence
from builds.ui.shares import format_missed_share
from checks.band import Band
from checks.outcomes import Outcome
from checks.statistics.agreement import Agreement
from checks.statistics.proportions import Share, wilson
from checks.statistics.summary import Summary
from checks.statistics.tolerance import Proposal, Withheld

SEVERITY = {
    4: gettext_lazy("danger or stop"),
    3: gettext_lazy("out of band with power on"),
    2: gettext_lazy("out of band or repeated snag"),
    1: gettext_lazy("minor"),
}


@dataclass(frozen=True)
class Finding:
    """One check or step with trouble, with its evidence and what to do about it. Harm: 4 worst, 1 least."""

    harm: int
    title: str
    stage: str
    stage_key: str
    target: tuple[str, str]  # ("check", key), ("step", key), ("part", ref) or ("stage", "")
    unit: str
    missed: Share
    band: Band | None
    summary: Summary | None
    meaning: ReadableFinding | None
    proposal: Proposal | Withheld | None
    check: int | None  # id of the check it is on
    plot_points: PlotPoints
    snags: tuple
    photos: tuple
    causes: tuple[str, ...]
    suggestion: str
    edits: tuple[edits.Edit, ...]
    decisions: tuple
    stops: int
    state: ProblemState  # the same as on the designer's pages
    agreement: Agreement | None = None  # of guide, circuit and builds
    changes_nothing: bool = False  # is that all there is to say of it?
    corrected: str = ""  # that an erratum corrected the figures it is judged by, and what they were

    @property
    def rank(self):
        """Worst first; of two as bad, what is surer."""
        certainty = self.meaning.probability if self.meaning else 0.0
        return (-self.harm, -(self.missed.share or 0), -self.missed.n, -certainty)

    @property
    def severity_label(self) -> str:
        return str(SEVERITY[self.harm])

    @property
    def missed_text(self) -> str:
        return format_missed_share(self.missed)

    @property
    def claim(self) -> str:
        """What the builds mean, with its probability."""
        return self.meaning.claim if self.meaning else ""

    @property
    def explanation(self) -> str:
        return " ".join(filter(None, (self.corrected, self.meaning.description if self.meaning else "")))

    @property
    def is_about_part(self) -> bool:
        return self.target[0] == "part"

    @property
    def asks_for_a_change(self) -> bool:
        """Is there anything to correct: an edit, or other advice than to change nothing?"""
        return bool(self.edits) or not self.changes_nothing

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """What each build read. Made when asked for: a page shows a few findings of many."""
        return self.plot_points.of(self.check) if self.check else ()

    @property
    def values(self) -> tuple[float, ...]:
        return tuple(p.value for p in self.points if p.value is not None)

    @property
    def decided(self) -> str:
        """How far the designer has come with it."""
        return str(self.state.label)

    @property
    def middle(self) -> str:
        """The guide's figure beside the median of the builds, and whether the circuit agrees with either."""
        agreement = agreement_sentence(self.agreement, self.unit) if self.agreement and self.agreement.circuit else ""
        return f"{median_text(self)} {agreement}".rstrip()

    @cached_property
    def plot(self):
        return order_plot(self.title, self.unit, self.band, self.points)


@dataclass(frozen=True)
class CheckNumbers:
    """One check over its builds, trouble or not: a row of the appendix."""

    title: str
    stage: str
    unit: str
    first_pass: Share
    summary: Summary
    meaning: ReadableFinding

    @property
    def claim(self) -> str:
        return self.meaning.claim

    @property
    def builds_text(self) -> str:
        """How many builds: "9, 2 of them over range"."""
        return with_over_range(str(self.summary.n), self.summary)

    @property
    def mean_text(self) -> str:
        """The 95 % interval of the mean; a dash where there is none."""
        s = self.summary
        return "–" if s.mean_low is None else format_limits(s.mean_low, s.mean_high, self.unit)


def look_at(check, counts: ReadCounts, meaning, evidence) -> tuple[CheckNumbers, Finding | None]:
    """The numbers of a check (`meaning`: what its readings mean) and, where something missed or somebody wrote, the
    finding on it."""
    snags = evidence.about_check(check)
    missed = wilson(counts.missed_first, counts.builds)
    numbers = CheckNumbers(
        check.title,
        check.stage.title,
        check.unit,
        wilson(missed.n - missed.successes, missed.n),
        meaning.summary,
        meaning.finding,
    )
    if not (missed.successes or snags):
        return numbers, None
    return numbers, _about_check(check, meaning, evidence, snags, missed)


def _about_check(check, meaning, evidence, snags, missed) -> Finding:
    triages = evidence.triages.get(check.pk, []) + evidence.list_triages(snags)
    planned = planned_change(t.planned_change for t in triages)
    decisions = [evidence.decisions.get(key) for key in (("check", check.pk), *(("snag", s.pk) for s in snags))]
    case = build_case(
        check,
        meaning,
        list_misses(meaning, evidence.serials),
        _triaged_causes(triages, snags, evidence),
        evidence.confirmed.of_check(check),
        snags,
        evidence.decision_on(check, snags),
    )
    return Finding(
        _harm(check, meaning.misses, snags),
        check.title,
        check.stage.title,
        check.stage.key,
        ("check", check.key),
        check.unit,
        missed,
        case.band,
        meaning.summary,
        meaning.finding,
        meaning.proposal,
        check.pk,
        evidence.points,
        snags,
        evidence.list_photos(snags),
        _causes(triages),
        suggest(case, planned),
        edits.of_check(case, planned),
        tuple(filter(None, decisions)),
        case.stops,
        finding_state(case.decision, planned=planned, causes=case.causes or case.confirmed),
        meaning.agreement,
        all(advice.changes_nothing for advice in advise(case, planned)),
        correction_note(standing(check)),
    )


def _triaged_causes(triages, snags, evidence):
    """(cause, serial of the build) of deviations and snags."""
    builds = {s.pk: s.build_id for s in snags}
    for t in triages:
        yield t.cause, evidence.serials[t.build_id or builds[t.snag_id]]


def _is_danger(snags) -> bool:
    return any(s.severity == Snag.Severity.DANGER for s in snags)


def _harm(check, misses, snags) -> int:
    outcomes = {outcome for miss in misses for outcome in (miss.first_outcome, miss.outcome)}
    if Outcome.SWITCH_OFF in outcomes or _is_danger(snags):
        return 4
    out = Outcome.OUT_OF_BAND in outcomes
    return 1 if not out else 3 if check.stage.is_powered else 2


def about_steps(evidence, taking_part: int):
    """Findings from snags that are about no check: a step, a part or a stage as a whole. `taking_part`: builds that
    read anything."""
    groups = defaultdict(list)
    for snag in evidence.snags:
        if not snag.check_row_id:
            groups[(snag.stage, snag.step, snag.part)].append(snag)
    for (stage, step, part), about in groups.items():
        yield _about_step(stage, step, part, tuple(about), evidence, taking_part)


def _title(step, part) -> str:
    if step:
        return _("Step %(number)d") % {"number": step.position}
    return _("Part %(ref)s") % {"ref": part.ref} if part else _("The whole stage")


def _place(stage, step, part) -> str:
    if step:
        return _("%(stage)s, step %(number)s") % {"stage": stage.title, "number": step.position}
    if part:
        return _("%(stage)s, part %(ref)s") % {"stage": stage.title, "ref": part.ref}
    return stage.title


def _about_step(stage, step, part, about, evidence, taking_part) -> Finding:
    harm = 4 if _is_danger(about) else 2 if len(about) > 1 else 1
    title = _title(step, part)
    target = ("step", step.key) if step else ("part", part.ref) if part else ("stage", "")
    triages, builds = evidence.list_triages(about), {s.build_id for s in about}
    decisions = tuple(d for d in (evidence.decisions.get(("snag", s.pk)) for s in about) if d)
    planned = planned_change(t.planned_change for t in triages)
    return Finding(
        harm,
        title,
        stage.title,
        stage.key,
        target,
        "",
        wilson(len(builds), max(taking_part, len(builds))),
        None,
        None,
        None,
        None,
        None,
        evidence.points,
        about,
        evidence.list_photos(about),
        _causes(triages),
        suggest_step(step, decisions, planned),
        edits.of_step(_place(stage, step, part), step, decisions, planned),
        decisions,
        0,
        _step_state(decisions, planned, triages),
        changes_nothing=bool(decisions) and all(d.state == Decision.State.REJECTED for d in decisions),
    )


def _step_state(decisions, planned, triages) -> ProblemState:
    accepted = next((d for d in decisions if d.state == "accepted"), None)
    return finding_state(
        accepted or next(iter(decisions), None),
        planned=planned,
        causes=[t for t in triages if t.cause != Cause.UNKNOWN],
    )


def _causes(triages) -> tuple[str, ...]:
    return tuple(sorted({str(Cause(t.cause).label) for t in triages if t.cause != Cause.UNKNOWN}))
