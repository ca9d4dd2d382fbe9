"""One check in focus: where to put the probes, the field, and the verdict in the same place every time."""

from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import get_language
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.bench import access, errata
from builds.bench.diagnosis import designer_hints
from builds.bench.diagnosis.advice import advice_on
from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.diagnosis.overloads import power_is_to_be_off
from builds.bench.forms import PhotoForm, SwitchOnForm
from builds.bench.gates import gating, locks, stops
from builds.bench.gates.locks import CheckReason
from builds.bench.readings import self_checks
from builds.bench.readings.display import without_load
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.mains import tap_of, tap_share
from builds.bench.readings.passing import latest_of
from builds.bench.views.figures import figures_of
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import next_up
from builds.bench.views.posted_reading import AtCheck, check_of, make_safe_first, post_reading
from builds.bench.views.stage import OpenStage, open_stage
from builds.bench.views.unsaved import stop_first
from builds.guides.circuit.stored import figure_of
from builds.guides.feeding import own_volts, to_set
from builds.guides.figures import expected_text, rated_limits_of
from builds.guides.guide_texts import load_guide_in
from builds.guides.probes import marked
from builds.guides.rated_stops import stops_for
from builds.ui.messages.advice import advice_text
from checks.outcomes import OFF, Outcome


def check_context(at: AtCheck, form=None) -> dict:
    """All that the check page and its fragment show. `form` is the one that was posted and comes back, if any."""
    opened, row, build, stage = at.opened, at.check, at.opened.build, at.opened.stage
    guide = load_guide_in(build.revision, get_language())
    red, black = guide.probes.pair(row)
    checks, carried, verdict = stage.checks.all(), _carried(opened, row), _verdict(at, guide)
    power = gating.power_of(build, opened.facts)
    lock = locks.lock_of_check(row, stage, opened.facts, power)
    shows_form = form is not None or opened.again or not (verdict["last"] or carried)
    return {
        "build": build,
        "stage": stage,
        "check": row,
        "form": form or (ReadingForm(context=at.reading) if shows_form else None),
        "photo_form": PhotoForm(),
        "photos": build.photos.filter(check_row=row, snag=None),
        "red": red,
        "black": black,
        "check_state": opened.facts.check_states.get(row.pk),
        "carried": carried,
        "shows_form": shows_form,
        "errata": errata.of_check(errata.active(build, stage), row),
        "to_set": to_set(stage, tap_share(build), guide.parts),
        "settle": (figure_of(row) or {}).get("settle", []),
        "shown": marked(row, red, guide.pictures),
        "next": next_up(build, stage, opened.facts, after=row),
        "lock": lock if lock and (shows_form or lock.reason is CheckReason.STEP) else None,
        "overloaded": bool(lock and lock.is_power) and power_is_to_be_off(build, opened.facts),
        "power": power,
        "switch_on": SwitchOnForm(),
        "cautions": cautions_for(stage.cautions),
        "number": list(checks).index(row) + 1,
        "of": len(checks),
        "out_of_trim": self_checks.flagged(build),
        "stopped": stops.active_stop(build, power),
        **_figures(at),
        **verdict,
    }


def _figures(at: AtCheck) -> dict:
    """What a good reading is, as the meter shows it; and what mains it is judged at."""
    reading, own = at.reading, own_volts(at.opened.stage)
    ohms = reading.through and reading.through.ohms
    follows_mains = bool(not own and reading.exponent)
    return {
        "unit": reading.unit,
        "band": reading.band,
        "figures": figures_of(at.check, reading.band, ohms, expected_text(at.check), follows_mains, _ratings(at)),
        "mains": reading.mains_volts,
        "line": reading.line,
        "tap": tap_of(at.opened.build),
        "own_volts": own,
    }


def _ratings(at: AtCheck):
    return stops_for(at.reading.guide_band, at.check.measure, rated_limits_of(at.check))


def _verdict(at: AtCheck, guide) -> dict:
    """What the latest reading came to, and what to do about it."""
    opened, row, build = at.opened, at.check, at.opened.build
    readings = list(build.readings.filter(check_row=row).order_by("-attempt"))
    for reading in readings:
        reading.check_row = row
    last = latest_of(readings)
    is_off = last is not None and last.outcome in OFF
    shown = {
        "last": last,
        "readings": readings,
        "without_load": without_load(last, at.reading.unit) if last else "",
    }
    if not is_off:
        return shown
    diagnosis = diagnose(build, row, opened.facts)
    allowed = allowed_measurements(build, row, opened.facts)
    hints, next_check = designer_hints.for_reading(row, last, guide, allowed)
    advice = advice_text(advice_on(build, row, last, opened.facts, diagnosis))
    return shown | {"hints": hints, "hint_next": next_check, "found": diagnosis, "advice": advice}


def _carried(opened: OpenStage, row):
    """The reading that came along from an earlier revision, where this check stands on one."""
    return opened.build.carried.filter(check_row=row).first() if row.pk in opened.facts.carried else None


@signed_in
@require_GET
def check(request, pk, key, check):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if opened.answer:
        return opened.answer
    opened.again = "measure" in request.GET
    at = AtCheck.of(opened, check_of(opened.stage, check))
    context = check_context(at)
    return (context["shows_form"] and make_safe_first(opened)) or render(request, "bench/check.html", context)


@signed_in
@require_POST
@stop_first
def reading(request, pk, key, check):
    """Take a reading. A stop takes over the page; anything unreadable comes back with what is accepted."""
    posted = post_reading(request, pk, key, check)
    if posted.lock:
        context = check_context(posted.at, posted.form) | {"typed": request.POST.get("typed", "")}
        return render(request, "bench/check.html", context, status=409)
    if posted.answer:
        return htmx_redirect(request, posted.answer)
    if posted.taken:
        return _respond(request, posted.at, posted.taken)
    template = "bench/_check.html" if request.htmx else "bench/check.html"
    return render(request, template, check_context(posted.at, posted.form), status=422)


def _respond(request, at: AtCheck, taken):
    opened = at.opened
    if taken.outcome == Outcome.SWITCH_OFF:
        return htmx_redirect(request, redirect("bench:stop", opened.build.pk))
    if request.htmx:
        return render(request, "bench/_check.html", check_context(at))
    return redirect(reverse("bench:check", args=[opened.build.pk, opened.stage.key, at.check.key]) + "#verdict")
