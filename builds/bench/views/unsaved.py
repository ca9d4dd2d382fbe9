"""A reading that cannot be written: it is judged all the same, and a stop is shown at once.

The database may be locked by something long, read-only, or its disk full. Whoever measures past a stop limit then must
read the order to switch off, not an error of the site.
"""

import logging
from contextlib import nullcontext
from functools import wraps

from django.db import connection
from django.http import HttpResponse
from django.shortcuts import render

from builds.accounts.not_saved import WRITE_ERRORS, warn_owner
from builds.bench import access
from builds.bench.gates import sittings
from builds.bench.offline.arrival import attach_outcome
from builds.bench.readings.context import ReadingContext, build_context
from builds.bench.readings.forms import ReadingForm
from builds.bench.views.safe import make_safe_context
from builds.bench.views.stage import find_stage
from builds.ui.messages.verdicts import finding_text
from checks.errors import ChecksError
from checks.outcomes import Outcome

log = logging.getLogger(__name__)
PATIENCE = 2  # s that the first try waits for the right to write


def stop_first(view):
    """Mark a view (request, pk, key, check) that takes a reading. Where it cannot write soon, a stop is answered first;
    anything else is tried once more, and then said not to be saved."""

    @wraps(view)
    def respond(request, *place, **named):
        # SQLite waits for a lock as long as its time-out says, which is too long for somebody at a live chassis.
        wait = connection.patience(PATIENCE) if connection.vendor == "sqlite" else nullcontext()
        try:
            with wait:
                return view(request, *place, **named)
        except WRITE_ERRORS as error:
            log.warning("a reading could not be written soon: %s", error)
            if answer := _stop_page(request, error, *place, **named):
                return answer
        try:
            return view(request, *place, **named)
        except WRITE_ERRORS as error:
            warn_owner(error)
            return _page(request, "bench/unsaved.html", named["pk"] if named else place[0], {})

    return respond


def judge_only(request, pk: int, key: str, check: str) -> ReadingContext | None:
    """The verdict on what was posted, from reading alone; None where there is none."""
    try:
        build = access.own_build(request.user, pk)
        stage = find_stage(build, key)
        row = next(row for row in stage.checks.all() if row.key == check)
        sitting = sittings.current_sitting(build)
        mains = sitting.mains_volts if sitting and stage.is_powered else None
        context = build_context(build, row, mains)
        form = ReadingForm(request.POST, context=context)
        return context.judged(form.cleaned_data["typed"]) if form.is_valid() else None
    except (ChecksError, StopIteration, *WRITE_ERRORS):
        return None


def _stop_page(request, error, pk: int, key: str, check: str) -> HttpResponse | None:
    """The order to switch off, where what was posted is past a stop limit."""
    judged = judge_only(request, pk, key, check)
    if judged is None or judged.verdict.outcome is not Outcome.SWITCH_OFF:
        return None
    warn_owner(error)
    verdict = judged.verdict
    finding = finding_text(verdict.reason.value, verdict.params, judged.unit)
    answer = _page(request, "bench/unsaved-stop.html", pk, {"check": judged.check, "finding": finding})
    attach_outcome(answer, verdict.outcome)
    return answer


def refused_stop_page(request, opened, judged: ReadingContext) -> HttpResponse:
    """The order to switch off after a reading that a closed stage does not take."""
    verdict = judged.result[2]
    context = {
        **make_safe_context(opened.build),
        "check": judged.check,
        "stage": opened.stage,
        "finding": finding_text(verdict.reason.value, verdict.params, judged.unit),
        "typed": request.POST.get("typed", ""),
    }
    answer = render(request, "bench/refused-stop.html", context, status=409)
    attach_outcome(answer, verdict.outcome)
    return answer


def _page(request, template: str, pk: int, more: dict) -> HttpResponse:
    build = access.own_build(request.user, pk)
    context = {
        **make_safe_context(build),
        "build": build,
        "typed": request.POST.get("typed", ""),
        "posted": [(name, value) for name, value in request.POST.items() if name != "csrfmiddlewaretoken"],
        **more,
    }
    # htmx puts a 409 in the place of the whole page (base.html); a phone that keeps the entry shows that itself, and
    # anybody else is told that the site could not serve.
    is_kept = "Entry-Key" in request.headers
    return render(request, template, context, status=409 if request.htmx and not is_kept else 503)
