"""Everything that happened to a build, latest first, as lines a page can show without asking what each is."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse
from django.utils.text import Truncator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.bench.models import Build
from builds.review.problems.state import with_snag_state
from builds.ui.formatting import format_entry
from builds.ui.rich_text import to_text

PAGE = 40
KINDS = {
    "readings": gettext_lazy("readings"),
    "snags": gettext_lazy("snags and concessions"),
    "steps": gettext_lazy("steps and stages"),
    "photos": gettext_lazy("photos"),
}


@dataclass(frozen=True)
class Event:
    """One line: `outcome` of a reading, `state` of a snag; empty where there is none."""

    kind: str
    when: datetime
    what: str
    where: str = ""
    link: str = ""
    figure: str = ""
    note: str = ""
    outcome: str = ""
    state: str = ""


def list_history(build: Build, kind: str = "") -> list[Event]:
    """Events of one of KINDS, or of all. A fixed number of queries."""
    sources = {"readings": _readings, "snags": _snags, "steps": _steps, "photos": _photos}
    chosen = [sources[kind]] if kind in sources else sources.values()
    events = [event for source in chosen for event in source(build)]
    return sorted(events, key=lambda event: event.when, reverse=True)


def _readings(build) -> Iterator[Event]:
    kit = [build.revision.kit.key, build.revision.letter]
    for r in build.readings.select_related("check_row__stage"):
        what = _("Typing error corrected, attempt %(n)s") if r.is_slip else _("Reading, attempt %(n)s")
        link = reverse("review:check", args=[*kit, r.check_row_id])
        yield Event("readings", r.at, what % {"n": r.attempt}, r.check_row.title, link, r.shown, outcome=r.outcome)
    for m in build.made_safes.all():
        note = _("safe to touch") if m.is_safe else _("not safe yet")
        yield Event("readings", m.at, _("Made safe"), figure=format_entry(m.typed, "V"), note=note)
    for p in build.power_ons.select_related("stage"):
        yield Event("readings", p.at, _("Power on"), p.stage.title if p.stage else "", note=p.get_why_display())
    for e in build.extra_readings.all():
        yield Event("readings", e.at, _("Extra reading, power off"), e.label, figure=format_entry(e.typed, "Ω"))


def _snags(build) -> Iterator[Event]:
    for s in with_snag_state(build.snags.select_related("stage")):
        link = reverse("review:snag", args=[s.pk])
        note = Truncator(s.words).chars(120)
        yield Event("snags", s.at, _("Snag"), s.stage.title, link, note=note, state=s.problem_state)
    for c in build.concessions.select_related("check_row", "by"):
        who = _("%(reason)s (%(person)s)") % {"reason": c.reason, "person": c.by} if c.by else c.reason
        yield Event("snags", c.at, _("Concession"), c.check_row.title, note=who)


def _steps(build) -> Iterator[Event]:
    for t in build.ticks.select_related("step__stage"):
        note = Truncator(to_text(t.step.text)).chars(80)
        yield Event("steps", t.at, _("Step ticked"), t.step.stage.title, note=note)
    for v in build.visits.exclude(done_at=None).select_related("stage"):
        yield Event("steps", v.done_at, _("Stage done"), v.stage.title)


def _photos(build) -> Iterator[Event]:
    for p in build.photos.select_related("stage"):
        link = reverse("bench:photo", args=[build.pk, p.pk, "full"])
        yield Event("photos", p.at, _("Photo"), p.stage.title, link)
