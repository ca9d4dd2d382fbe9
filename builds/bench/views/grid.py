"""Many checks of one stage on one page, a row each, judged by the rules of the single page."""

from dataclasses import dataclass

from django.shortcuts import redirect, render
from django.utils.translation import get_language
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.bench import access
from builds.bench.diagnosis.advice import advise_on
from builds.bench.diagnosis.overloads import must_power_be_off
from builds.bench.forms import SwitchOnForm
from builds.bench.gates import gating, locks, stops
from builds.bench.gates.locks import CheckLock
from builds.bench.models import Reading
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.mains import tap_share
from builds.bench.views.figures import describe_meter, list_figures
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import next_up
from builds.bench.views.posted_reading import AtCheck, make_safe_first, post_reading, says_stop
from builds.bench.views.stage import open_stage
from builds.bench.views.unsaved import stop_first
from builds.guides.feeding import setting_sentences, variac_volts
from builds.guides.figures import expected_text
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Check
from builds.ui.messages.bench import by_figures_as_issued
from checks.outcomes import OFF, Outcome


@dataclass(frozen=True)
class GridRow:
    """A check as a row. `last`: its latest reading; `form` where another may be typed; `lock` where it may not."""

    check: Check
    red: str
    black: str
    figures: list
    last: Reading | None
    passed: bool
    is_carried: bool
    form: ReadingForm | None
    lock: CheckLock | None
    as_issued: str = ""  # said of a reading within the band of a check that was corrected since
    after: str = ""  # what the guide puts before it, as the scripts of a copy read it

    @property
    def is_open(self) -> bool:
        return self.form is not None

    @property
    def is_outdated(self) -> bool:
        """Was it in band, until a valve was changed?"""
        return self.last is not None and self.last.outcome == Outcome.IN_BAND and not self.passed


def make_ids(check: Check) -> str:
    """What the fields of a row are called in the page, where every row has the same ones."""
    return f"{check.key}-%s"


def build_row(at: AtCheck, last: Reading | None, form=None) -> GridRow:
    """`form` is one that was posted and comes back; a check that has not passed gets a new one."""
    opened, check = at.opened, at.check
    status = opened.facts.check_states.get(check.pk)
    is_carried = status is None and check.pk in opened.facts.carried
    passed = is_carried or bool(status and status.passed)
    lock = locks.lock_of_check(check, opened.stage, opened.facts, opened.power)
    if not at.reading.measure.is_read or opened.build.finished_at or lock or (passed and form is None):
        form = None
    elif form is None:
        form = ReadingForm(context=at.reading, auto_id=make_ids(check))
    as_issued = by_figures_as_issued() if check.pk in opened.facts.in_words else ""
    where, figures = _where(at), _figures(at)
    return GridRow(check, *where, figures, last, passed, is_carried, form, None if passed else lock, as_issued)


def _where(at: AtCheck) -> tuple[str, str]:
    red, black = load_guide_in(at.opened.build.revision, get_language()).probes.pair(at.check)
    return red.location, black.location


def _figures(at: AtCheck) -> list:
    reading = at.reading
    ohms = reading.through.ohms if reading.through else None
    follows = bool(not variac_volts(at.opened.stage) and reading.exponent)
    return list_figures(
        at.check, reading.band, ohms, expected_text(reading.check), follows, meter_note=describe_meter(reading)
    )


@signed_in
@require_safe
def grid(request, pk, key):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    answer = opened.answer or make_safe_first(opened)
    if answer:
        return answer
    build, stage = opened.build, opened.stage
    if opened.facts.stops or (stage.is_powered and must_power_be_off(build, opened.facts)):  # first find the cause
        return redirect("bench:stage", build.pk, stage.key)
    statuses = {
        s.check_row_id: s.latest for s in build.statuses.filter(check_row__stage=stage).select_related("latest")
    }
    rows = [build_row(AtCheck.of(opened, check), statuses.get(check.pk)) for check in stage.checks.all()]
    return render(
        request,
        "bench/grid.html",
        {
            "build": build,
            "stage": stage,
            "rows": rows,
            "next": next_up(build, stage, opened.facts),
            "state": opened.state,
            "cautions": cautions_for(stage.cautions),
            "power": opened.power,
            "switch_on": SwitchOnForm(),
            "needs_switch_on": any(row.lock and row.lock.is_power for row in rows),
            "to_set": setting_sentences(stage, tap_share(build), load_guide_in(build.revision, get_language()).parts),
            "mains": opened.sitting.mains_volts if opened.sitting else None,
            "steps": _steps(opened) if build.fast_track and not build.finished_at else [],
        },
    )


def _steps(opened) -> list[tuple]:
    """(number, step, is it ticked?, the lock that holds it back, what the scripts are told comes first) for the fast
    track."""
    return [
        (n, step, step.pk in opened.facts.ticked, locks.find_lock(step, opened.stage, opened.facts, opened.power), "")
        for n, step in enumerate(opened.stage.steps.all(), 1)
    ]


@signed_in
@require_POST
@stop_first
def grid_reading(request, pk, key, check):
    """Take the reading of one row. A stop, and a reading that wants the power off, take over the page."""
    posted = post_reading(request, pk, key, check, auto_id=f"{check}-%s")
    opened = posted.at.opened
    if posted.answer:
        return htmx_redirect(request, posted.answer)
    if posted.taken and says_stop(posted.at, posted.taken):
        return htmx_redirect(request, redirect("bench:stop", opened.build.pk))
    if posted.taken and (_wants_power_off(posted) or _must_be_off(opened)):
        return htmx_redirect(request, redirect("bench:check", opened.build.pk, key, check))
    if not request.htmx:
        return redirect("bench:grid", opened.build.pk, key) if posted.taken else _alone(request, posted)
    status = 200 if posted.taken else 422
    return render(request, "bench/_grid_answer.html", _row_context(posted), status=status)


def _must_be_off(opened) -> bool:
    """May another reading mean an overload? It was taken while this page stood open, on another phone say."""
    return opened.stage.is_powered and must_power_be_off(opened.build, opened.facts)


def _wants_power_off(posted) -> bool:
    if posted.taken.outcome not in OFF:
        return False
    opened = posted.at.opened
    advice = advise_on(opened.build, posted.at.check, posted.taken, opened.facts, None)
    return bool(advice and advice.power_off)


def _row_context(posted) -> dict:
    opened, check = posted.at.opened, posted.at.check
    last = posted.taken or opened.build.readings.filter(check_row=check).order_by("attempt").last()
    if last:
        last.check_row = check
    return {
        "build": opened.build,
        "stage": opened.stage,
        "row": build_row(posted.at, last, None if posted.taken else posted.form),
        "next": next_up(opened.build, opened.stage, opened.facts),
        "state": gating.state_in(opened.stage, opened.facts),
        "typed": "" if posted.taken else posted.form.data.get("typed", ""),
        "taken": posted.taken,
        "stopped": stops.active_stop(opened.build, gating.find_power(opened.build, opened.facts)),
    }


def _alone(request, posted):
    """Without scripts: the row that was refused, on a page of its own."""
    return render(request, "bench/grid-row.html", _row_context(posted), status=422)
