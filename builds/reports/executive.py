"""The first page of a fault summary: how the programme stands, what to correct first, and what is not known yet."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.bench.models import Snag
from builds.reports.gather import NOT_STATED
from builds.reports.texts import more_text
from builds.review.problems.state import UNDECIDED, ProblemState
from builds.ui.drawings.share_plot import share_plot
from builds.ui.shares import format_interval
from checks.statistics.findings import FEWEST

FIRST = 6  # findings that fit on the page
SEVERE = 4  # the harm of a stop or a danger


@dataclass(frozen=True)
class Headline:
    """One key figure: what it counts, the figure, and a note on it."""

    label: str
    figure: str
    small: str


@dataclass(frozen=True)
class Executive:
    """The first page. `mend_first`: [(number in the list of findings, finding)], those with something to change."""

    sentence: str
    programme: str
    headlines: tuple[Headline, ...]
    mend_first: tuple
    more: int
    unknown: str
    yields: object  # Plot or None

    @property
    def more_text(self) -> str:
        return more_text(self.more)


def executive(summary) -> Executive:
    """From a gathered fault summary, without a query."""
    yields = share_plot(
        _("First-pass yield of each stage. The line shows the likely range."),
        [(s.title, s.first_pass) for s in summary.stages],
    )
    numbered = list(enumerate(summary.findings, 1))
    first = [(n, f) for n, f in numbered if f.asks_for_a_change][:FIRST]
    return Executive(
        _sentence(summary),
        _programme(summary),
        tuple(_headlines(summary)),
        tuple(first),
        len(numbered) - len(first),
        _unknown(summary),
        yields,
    )


def _open(summary) -> list:
    return [f for f in summary.findings if f.state in (*UNDECIDED, ProblemState.DEFERRED)]


def _programme(summary) -> str:
    """How many builds, on which mains and with which meters."""
    count = len(summary.builds)
    made = ngettext("%(count)d build made.", "%(count)d builds made.", count) % {"count": count}
    return " ".join(
        filter(
            None,
            (
                made,
                _("Mains: %(list)s.") % {"list": _counted(summary.mains)} if summary.mains else "",
                _("Meters: %(list)s.") % {"list": _counted(summary.meters)} if summary.meters else "",
            ),
        )
    )


def _counted(counts: dict) -> str:
    return ", ".join(f"{_('not stated') if name == NOT_STATED else name} ({n})" for name, n in counts.items())


def _sentence(summary) -> str:
    if not (summary.under_way or summary.first_pass.n or summary.findings):
        return _("No build has begun yet.")
    if not summary.findings:
        return _("No check had a reading out of band, and no snag was reported.")
    undecided = _open(summary)
    severe = sum(f.harm == SEVERE for f in undecided)
    if severe:
        text = ngettext(
            "Do not sell this kit yet: %(count)d finding with a stop or danger is not decided.",
            "Do not sell this kit yet: %(count)d findings with a stop or danger are not decided.",
            severe,
        )
        return text % {"count": severe}
    if undecided and not any(f.harm == SEVERE for f in summary.findings):
        text = ngettext(
            "No stop or danger; %(count)d finding is not decided.",
            "No stop or danger; %(count)d findings are not decided.",
            len(undecided),
        )
        return text % {"count": len(undecided)}
    if undecided:
        text = ngettext(
            "All findings with a stop or danger are decided; %(count)d other finding is not.",
            "All findings with a stop or danger are decided; %(count)d other findings are not.",
            len(undecided),
        )
        return text % {"count": len(undecided)}
    return _("Every finding is decided.")


def _headlines(summary):
    snags = {s.pk: s for f in summary.findings for s in f.snags}.values()
    builders = ngettext("%(count)d builder", "%(count)d builders", summary.people) % {"count": summary.people}
    yield Headline(
        _("Builds signed off"),
        _("%(count)d of %(total)d") % {"count": summary.finished, "total": len(summary.builds)},
        _("%(count)d begun, %(builders)s") % {"count": summary.under_way, "builders": builders},
    )
    yield _first_pass(summary.first_pass)
    undecided = len(_open(summary))
    yield Headline(_("Findings"), f"{len(summary.findings)}", _("%(count)d to decide") % {"count": undecided})
    stopped = sum(f.stops for f in summary.findings)
    past = ngettext("%(count)d build past a stop limit", "%(count)d builds past a stop limit", stopped)
    yield Headline(
        _("Stops and dangers"), f"{sum(f.harm == SEVERE for f in summary.findings)}", past % {"count": stopped}
    )
    unanswered = sum(s.state == Snag.State.OPEN for s in snags)
    yield Headline(_("Snags"), f"{len(snags)}", _("%(count)d without an answer") % {"count": unanswered})


def _first_pass(share) -> Headline:
    if not share.n:
        return Headline(_("First-pass yield"), "–", _("nothing measured yet"))
    small = _("of %(count)d checks, %(interval)s") % {"count": share.n, "interval": format_interval(share)}
    return Headline(_("First-pass yield"), f"{100 * share.share:.0f} %", small)


def _unknown(summary) -> str:
    """Where there are too few builds to say anything."""
    few = sum(c.summary.n < FEWEST for c in summary.checks)
    unsure = sum(c.summary.n >= FEWEST and c.meaning.kind == "not enough" for c in summary.checks)
    texts = []
    if few:
        text = ngettext(
            "%(count)d check was read by fewer than %(fewest)d builds.",
            "%(count)d checks were read by fewer than %(fewest)d builds.",
            few,
        )
        texts.append(text % {"count": few, "fewest": FEWEST})
    if unsure:
        text = ngettext(
            "For %(count)d check the builds do not show what is wrong.",
            "For %(count)d checks the builds do not show what is wrong.",
            unsure,
        )
        texts.append(text % {"count": unsure})
    return " ".join(texts)
