"""One check in focus: where to put the probes, the field, and the verdict in the same place every time."""

from functools import partial

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.bench import access, errata
from builds.bench.diagnosis import designer_hints
from builds.bench.diagnosis.advice import advise_on
from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.diagnosis.overloads import overloaded
from builds.bench.forms import PhotoForm, SwitchOnForm
from builds.bench.gates import gating, locks, stops
from builds.bench.gates.locks import CheckLock, CheckReason
from builds.bench.models import Reading
from builds.bench.readings import self_checks
from builds.bench.readings.display import without_load
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.mains import tap_share
from builds.bench.readings.passing import find_latest
from builds.bench.readings.warm_up import find_warm_up
from builds.bench.readings.worked_out import work_out_check
from builds.bench.views.figures import describe_meter, list_figures
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import next_but_for
from builds.bench.views.posted_reading import AtCheck, find_check, make_safe_first, post_reading, says_stop
from builds.bench.views.stage import open_stage
from builds.bench.views.unsaved import stop_first
from builds.guides.circuit.stored import find_figure
from builds.guides.feeding import setting_sentences, variac_volts
from builds.guides.figures import expected_text, find_rated_limits
from builds.guides.guide_cache import load_guide
from builds.guides.parts_at_point import parts_at
from builds.guides.probes import marked
from builds.guides.rated_stops import is_past, limits_at, stops_for
from builds.ui.messages.advice import advice_text
from builds.ui.messages.bench import by_figures_as_issued
from checks.outcomes import OFF


def check_context(at: AtCheck, form=None) -> dict:
    """All that the check's page shows. `form` is the one that was posted and comes back, if any."""
    return work_context(at, form) | _place(at)


def work_context(at: AtCheck, form=None) -> dict:
    """What a reading changes: the field or the verdict with the way on, and what lies under it."""
    opened, row, build, stage = at.opened, at.check, at.opened.build, at.opened.stage
    power = gating.power_by(opened.facts, opened.guide.powered)
    overload = overloaded(build, opened.facts)
    carried = opened.build.carried.filter(check_row=row).first() if row.pk in opened.facts.carried else None
    verdict = _verdict(at)
    is_read = at.reading.measure.is_read
    state = opened.facts.check_states.get(row.pk)
    is_asked = opened.again or (state is not None and state.is_outdated and not build.finished_at)
    shows_form = is_read and (form is not None or is_asked or not (verdict["last"] or carried))
    return {
        "build": build,
        "stage": stage,
        "check": row,
        "form": form or (ReadingForm(context=at.reading) if shows_form else None),
        "is_figure": not is_read,
        "worked_out": work_out_check(build, row) if row.formula else None,
        "check_state": state,
        "carried": carried,
        "shows_form": shows_form,
        "earlier": [reading for reading in verdict["readings"] if shows_form or reading is not verdict["last"]],
        "next": next_but_for(overload, build, stage, opened.facts, row, power),
        "power": power,
        "stopped": stops.active_stop(build, power),
        "overload": None if opened.facts.stops else overload,
        "shows_overload": not opened.facts.stops and _shows_overload(row, overload, power, shows_form),
        "as_issued": by_figures_as_issued() if row.pk in opened.facts.in_words else "",
        "band": at.reading.band,
        **_lock(at, power, shows_form, overload if form is None else None),
        **verdict,
    }


def _shows_overload(row, overload, power, shows_form: bool) -> bool:
    """Does the order to switch off stand above the page's own? The verdict of this check gives it itself; beside the
    field for correcting that reading it holds on until the kit is made safe."""
    if overload is None or overload.check_row_id != row.pk:
        return overload is not None
    is_answered = power.last_safe is not None and power.last_safe > overload.latest.at
    return shows_form and power.needs_made_safe and not is_answered


def _lock(at: AtCheck, power, shows_form: bool, overload=None) -> dict:
    """Why the check may not be read now, and the form that puts the power on record where that is all it takes. What
    was read just now had no lock, and its verdict is shown. Beside an order to switch off, no live reading is asked
    for; one that was taken all the same is not refused."""
    if at.taken and not shows_form:
        return {"lock": None}
    is_live = at.opened.stage.is_powered and power.needs_made_safe
    if overload and overload.check_row_id != at.check.pk and is_live and shows_form:
        return {"lock": CheckLock(CheckReason.STOP)}
    lock = locks.lock_of_check(at.check, at.opened.stage, at.opened.facts, power)
    if lock is None or not (shows_form or lock.reason is CheckReason.STEP):
        return {"lock": None}
    return {
        "lock": lock,
        "switch_on": SwitchOnForm(),
        "cautions": cautions_for(at.opened.stage.cautions),
    }


def _place(at: AtCheck) -> dict:
    """What no reading changes: where to measure, what to set before it, what a good reading is as the meter shows it,
    the photos, and what readings are judged by."""
    row, build, stage, reading = at.check, at.opened.build, at.opened.stage, at.reading
    guide = at.opened.guide
    red, black = guide.probes.pair(row)
    checks = list(stage.checks.all())
    own = variac_volts(stage)
    return {
        "number": checks.index(row) + 1,
        "of": len(checks),
        "red": red,
        "black": black,
        "shown": marked(row, red, guide.pictures),
        "errata": errata.errata_of_check(errata.active_errata(build, stage), row),
        "to_set": setting_sentences(stage, tap_share(build), guide.parts),
        "warm_up": find_warm_up(build, stage, at.opened.facts),
        "settle": (find_figure(reading.check) or {}).get("settle", []),
        "figures": _figures(at, follows_mains=bool(not own and reading.exponent)),
        "around": partial(parts_at, guide, row),  # asked only where it is shown
        "photo_form": PhotoForm(),
        "photos": build.photos.filter(check_row=row, snag=None),
        "out_of_trim": self_checks.flagged(build),
        "mains": reading.mains_volts,
        "own_volts": own,
    }


def _figures(at: AtCheck, follows_mains: bool):
    row, reading = at.check, at.reading
    ratings = stops_for(reading.guide_band, row.measure, find_rated_limits(reading.check))
    all_ratings = stops_for(reading.guide_band, row.measure, limits_at(load_guide(row.stage.revision), row))
    band = reading.guide_band
    past = [limit for limit in all_ratings if band and is_past(band, limit)]
    ohms = reading.through.ohms if reading.through else None
    return list_figures(
        row,
        reading.band,
        ohms,
        expected_text(reading.check),
        follows_mains,
        ratings,
        past,
        meter_note=describe_meter(reading),
    )


def _verdict(at: AtCheck) -> dict:
    """What the latest reading came to, and what to do about it."""
    opened, row, build = at.opened, at.check, at.opened.build
    readings = _readings(at)
    last = find_latest(readings)
    shown = {"last": last, "readings": readings, "without_load": without_load(last, row.unit) if last else ""}
    if last is None or last.outcome not in OFF:
        return shown
    diagnosis = diagnose(build, row, opened.facts)
    allowed = allowed_measurements(build, row, opened.facts)
    hints, next_check = designer_hints.for_reading(row, last, opened.guide, allowed)
    advice = advice_text(advise_on(build, row, last, opened.facts, diagnosis))
    return shown | {"hints": hints, "hint_next": next_check, "found": diagnosis, "advice": advice}


def _readings(at: AtCheck) -> list[Reading]:
    """Every attempt at this check, the latest first. A first one that was just taken is all there is."""
    is_first = at.taken is not None and at.taken.attempt == 1
    attempts = at.opened.build.readings.filter(check_row=at.check).order_by("-attempt")
    readings = [at.taken] if at.taken and is_first else list(attempts)
    for reading in readings:
        reading.check_row = at.check
    return readings


@signed_in
@require_safe
def check(request, pk, key, check):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if opened.answer:
        return opened.answer
    opened.again = "measure" in request.GET
    at = AtCheck.of(opened, find_check(opened.stage, check))
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
    return _show(request, posted.at, posted.form, status=422)


def _show(request, at: AtCheck, form=None, status: int = 200):
    """The whole page; with htmx what a reading changes of it."""
    if request.htmx:
        return render(request, "bench/_check_work.html", work_context(at, form), status=status)
    return render(request, "bench/check.html", check_context(at, form), status=status)


def _respond(request, at: AtCheck, taken):
    opened = at.opened
    if says_stop(at, taken):
        return htmx_redirect(request, redirect("bench:stop", opened.build.pk))
    if request.htmx:
        return _show(request, at)
    return redirect(reverse("bench:check", args=[opened.build.pk, opened.stage.key, at.check.key]) + "#verdict")
