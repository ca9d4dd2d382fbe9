"""One page a stage for whoever revises it: the text of the guide, and the findings beside it."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.circuit.stored import attach
from builds.guides.figures import band_for
from builds.reports.figures import format_band


@dataclass(frozen=True)
class Entry:
    """A step or check in the guide's order with the findings on it: [(number in the fault summary, finding)]."""

    kind: str
    key: str
    title: str
    text: str
    figure: str
    findings: tuple


@dataclass(frozen=True)
class Sheet:
    stage: object
    row: object  # StageRow
    minutes: float | None  # median of the builds that finished it
    entries: tuple[Entry, ...]
    whole: tuple  # findings on the stage as a whole or on a part in it

    @property
    def entries_with_findings(self) -> int:
        return sum(bool(e.findings) for e in self.entries)


def stage_sheets(summary) -> list[Sheet]:
    """A sheet for every stage of the guide; two queries more than the summary."""
    stages = list(summary.revision.stages.prefetch_related("steps", "checks"))
    return [_sheet(summary, stage) for stage in stages]


def stage_sheet(summary, key: str) -> Sheet | None:
    stage = summary.revision.stages.prefetch_related("steps", "checks").filter(key=key).first()
    return _sheet(summary, stage) if stage else None


def _sheet(summary, stage) -> Sheet:
    numbered = [(n, f) for n, f in enumerate(summary.findings, 1) if f.stage_key == stage.key]
    by_target: dict[tuple, list] = {}
    for n, finding in numbered:
        by_target.setdefault(finding.target, []).append((n, finding))
    entries = [
        Entry(
            "step", s.key, _("Step %(number)d") % {"number": n}, s.text, "", tuple(by_target.get(("step", s.key), ()))
        )
        for n, s in enumerate(stage.steps.all(), 1)
    ]
    checks = list(stage.checks.all())
    for check in checks:
        check.stage = stage
    attach(summary.revision, checks)
    entries += [_check(c, tuple(by_target.get(("check", c.key), ()))) for c in checks]
    row = next(s for s in summary.stages if s.key == stage.key)
    return Sheet(
        stage,
        row,
        summary.minutes.get(stage.key),
        tuple(entries),
        tuple(pair for pair in numbered if pair[1].target[0] in ("part", "stage")),
    )


def _check(check, findings) -> Entry:
    return Entry("check", check.key, check.title, check.note, format_band(band_for(check), check.unit), findings)
