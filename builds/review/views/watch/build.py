"""One build: its readings stage by stage, its history, its charts; concessions."""

from dataclasses import dataclass

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import may_design
from builds.bench import access
from builds.bench.charts import chart
from builds.bench.gates import gating
from builds.bench.models import Build
from builds.bench.readings.derived import list_derived
from builds.bench.readings.judged_again import off_since_sign_off
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from builds.review.forms import ConcessionForm
from builds.review.history import KINDS, PAGE, list_history
from builds.review.medians import medians
from builds.review.problems.state import with_deviation_state
from builds.review.views.watch.moves import later_revisions
from builds.ui.paging import Pages, page_number
from checks.outcomes import Outcome

FEW_PHOTOS = 6


@dataclass(frozen=True)
class StageReadings:
    """Where a build is in one stage: `rows` are (status, has it ever missed?) of its checks that were read, `derived`
    what they say together."""

    stage: object
    rows: tuple
    derived: list
    is_open: bool

    @property
    def off(self) -> int:
        """How many of them are not in band now."""
        return sum(status.outcome != Outcome.IN_BAND for status, _missed in self.rows)


@may_design
@require_safe
def build(request, pk):
    row = access.designers_build(request.user, pk)
    statuses = list(with_deviation_state(row.statuses.select_related("check_row__stage", "latest")))
    kind = request.GET.get("history", "")
    history = list_history(row, kind)
    pages = Pages(page_number(request), len(history), PAGE, [("history", kind)])
    photos = list(row.photos.all())
    return render(
        request,
        "review/build.html",
        {
            "build": row,
            "revision": row.revision,
            "states": gating.stage_states(row),
            "held": [(s, s.outcome != Outcome.SWITCH_OFF) for s in statuses if not s.passed],
            "stages": _by_stage(row, statuses, request.GET.get("check", "")),
            "history": pages.of(history),
            "history_kind": kind,
            "history_kinds": KINDS.items(),
            "pages": pages,
            "concessions": row.concessions.select_related("check_row", "by"),
            "photos": photos[:FEW_PHOTOS],
            "more_photos": photos[FEW_PHOTOS:],
            "meter_checks": row.meter_checks.select_related("part", "meter"),
            "off_since": off_since_sign_off(row),
            **_moves(row),
        },
    )


def _moves(row) -> dict:
    """Where a build moved from and to, and where it could."""
    ended = row.finished_at or row.given_up_at
    related = Build.objects.select_related("revision__kit")
    return {
        "later": [] if ended else later_revisions(row),
        "source": related.filter(moved_to__build=row).first(),
        "successor": related.filter(moved_from__source=row).first(),
        "carried": row.carried.exclude(check_row=None),
    }


def _by_stage(row, statuses, check: str) -> list[StageReadings]:
    """The stages that have readings. Open is the one with `check`, which a cell of the matrix leads to, and any with a
    check that holds the build."""
    guide, by_check = load_guide(row.revision), {s.check_row_id: s for s in statuses}
    groups = []
    for stage in guide.stages:
        pairs = [(c, by_check.get(c.pk)) for c in stage.checks.all()]
        rows = tuple((s, {s.outcome, s.first_outcome} != {Outcome.IN_BAND}) for _check, s in pairs if s)
        if rows:
            is_open = any(str(s.check_row_id) == check or not s.passed for s, _missed in rows)
            derived = list_derived(guide, pairs) if stage.is_powered else []
            groups.append(StageReadings(stage, rows, derived, is_open))
    return groups


@may_design
@require_safe
def charts(request, pk, kind):
    row = access.designers_build(request.user, pk)
    kind = kind if kind == "resistance" else "voltage"
    title = (
        _("Resistance chart of build %(serial)s") if kind == "resistance" else _("Voltage chart of build %(serial)s")
    )
    return render(
        request,
        "review/charts.html",
        {
            "build": row,
            "revision": row.revision,
            "kind": kind,
            "title": title % {"serial": row.serial},
            "charts": chart(row, kind, medians(row.revision)),
            "medians": True,
        },
    )


@may_design
@require_POST
def concede(request, pk, check):
    row = access.designers_build(request.user, pk)
    target = get_object_or_404(Check, stage__revision=row.revision, pk=check)
    form = ConcessionForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Give the reason for the concession in writing."))
    elif not row.statuses.filter(check_row=target).exists():
        messages.error(request, _("This check has no reading yet, so there is nothing to concede."))
    elif row.statuses.filter(check_row=target, outcome=Outcome.SWITCH_OFF).exists():
        messages.error(
            request, _("A reading that said “switch off” cannot be conceded. The check needs a good reading.")
        )
    else:
        gating.concede(row, target, by=request.user, reason=form.cleaned_data["reason"])
        messages.success(request, _("Conceded: %(check)s.") % {"check": target.title})
    return redirect("review:build", row.pk)
