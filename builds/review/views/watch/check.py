"""One check over all builds."""

from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from builds.accounts.access import may_design
from builds.bench.models import CheckStatus, Reading, Snag
from builds.guides.access import designers_revision
from builds.guides.corrected import standing
from builds.guides.figures import band_for
from builds.guides.models import Check
from builds.guides.row_labels import correction_note
from builds.review.problems.listing import MISSED
from builds.review.problems.state import finding_state, with_decision_state, with_deviation_state, with_snag_state
from builds.review.statistics import statistics
from builds.review.strip import strip
from checks.serials import natural
from checks.statistics.summary import summarise


@may_design
@require_safe
def check(request, kit, letter, pk):
    """All readings of one check on its band, by value at the guide's mains."""
    revision = designers_revision(request.user, kit, letter)
    row = get_object_or_404(Check.objects.select_related("stage"), stage__revision=revision, pk=pk)
    readings = sorted(
        Reading.objects.filter(check_row=row).select_related("build__builder"),
        key=lambda r: (natural(r.build.serial), r.attempt),
    )
    for reading in readings:
        reading.check_row = row
    last = {r.build_id: r for r in readings}
    band = band_for(row)
    label = _("%(build)s, attempt %(n)s: %(reading)s")
    dots = [
        (
            r.at_reference,
            last[r.build_id].pk == r.pk,
            label % {"build": r.build.serial, "n": r.attempt, "reading": r.shown},
        )
        for r in readings
        if r.at_reference is not None
    ]
    snags = list(
        with_snag_state(Snag.objects.filter(build__revision=revision, check_row=row)).select_related(
            "build", "stage", "by"
        )
    )
    figures = statistics(row, band, readings, len(snags))
    return render(
        request,
        "review/check.html",
        {
            "revision": revision,
            "check": row,
            "band": band,
            "readings": _with_states(readings, last, row),
            "strip": strip(band, dots) if dots else None,
            "by_mains": row.unit in ("V", "A"),
            **figures,
            "summaries": _summaries(figures, last.values()),
            "shift_label": _("From the expected value") if band and band.expected is not None else _("From the middle"),
            "snags": snags,
            "state": _state(row, snags),
            "corrected": correction_note(standing(row)),
        },
    )


def _summaries(figures, last) -> list[tuple]:
    """(name, summary, how far off) of the first attempts and of the last."""
    values = [r.at_reference for r in last if r.at_reference is not None]
    over = sum(r.over_range for r in last)
    return [
        (_("First"), figures["first"], figures["first_off"]),
        (_("Last"), summarise(values, over), figures["last_off"]),
    ]


def _with_states(readings, last, check) -> list[tuple]:
    """[(reading, the state of its build's deviation)]: with the last reading of a build, where it missed."""
    missed = with_deviation_state(CheckStatus.objects.filter(MISSED, check_row=check))
    states = dict(missed.values_list("build_id", "problem_state"))
    return [(r, states.get(r.build_id) if last[r.build_id] is r else None) for r in readings]


def _state(check, snags):
    """The state of what its readings and snags say together; None where nobody decided on anything."""
    decision = with_decision_state(check.decisions).first()
    causes = [s for s in snags if s.problem_state == "cause-found"]
    return finding_state(decision, causes=causes) if decision or causes else None
