"""One check in focus: where to put the probes, the field, and the verdict in the same place every time."""

from dataclasses import dataclass

from django.db import transaction
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
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
from builds.bench.gates import gating, locks, sittings, stops
from builds.bench.gates.facts import facts_of
from builds.bench.gates.locks import CheckReason
from builds.bench.readings import self_checks
from builds.bench.readings.context import ReadingContext, context_of
from builds.bench.readings.display import without_load
from builds.bench.readings.entry_keys import UsedKey, posted_key
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.mains import tap_of, tap_share
from builds.bench.readings.taking import add_reading, first_of
from builds.bench.views.figures import figures_of
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import make_safe_url, next_up
from builds.bench.views.stage import OpenStage, mark_done, open_stage, stage_of
from builds.guides.circuit.stored import figure_of
from builds.guides.feeding import own_volts, to_set
from builds.guides.figures import expected_text, rated_limits_of
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Check
from builds.guides.probes import marked
from builds.guides.rated_stops import stops_for
from builds.ui.messages.advice import advice_text
from checks.errors import ChecksError
from checks.outcomes import OFF, Outcome


@dataclass
class AtCheck:
    """A check that may be worked on now: the open stage and what its readings rest on, for the whole request."""

    opened: OpenStage
    check: Check
    reading: ReadingContext

    @classmethod
    def of(cls, opened: OpenStage, check: Check) -> "AtCheck":
        mains = opened.sitting.mains_volts if opened.sitting and opened.stage.is_powered else None
        return cls(opened, check, context_of(opened.build, check, mains))


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
    last = readings[0] if readings else None
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


def check_of(stage, key):
    for row in stage.checks.all():
        if row.key == key:
            return row
    raise Http404(_("This stage has no such check."))


@signed_in
@require_GET
def check(request, pk, key, check):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if opened.answer:
        return opened.answer
    opened.again = "measure" in request.GET
    at = AtCheck.of(opened, check_of(opened.stage, check))
    context = check_context(at)
    return (context["shows_form"] and _make_safe_first(opened)) or render(request, "bench/check.html", context)


def _make_safe_first(opened: OpenStage):
    """The way to make safe where this stage, done and open again, is read without power and power is on record."""
    if opened.stage.is_powered or opened.build.finished_at or not opened.power.needs_made_safe:
        return None
    return redirect(make_safe_url(opened.build, opened.stage))


@signed_in
@require_POST
def reading(request, pk, key, check):
    """Take a reading. A stop takes over the page; anything unreadable comes back with what is accepted."""
    with transaction.atomic():
        build = access.locked_build(request.user, pk)
        row = check_of(stage_of(build, key), check)
        facts = facts_of(build, posted_key(request.POST))
        opened = open_stage(request, build, key, facts)
        at = AtCheck.of(opened, row)
        form = ReadingForm(request.POST, context=at.reading)
        first = _first(request, at, form)
        if first:  # a double tap: show what the first post made
            return _respond(request, AtCheck.of(_open_anyway(opened), row), first)
        opened.answer = opened.answer or _make_safe_first(opened)
        lock = None if opened.answer else locks.lock_of_check(row, opened.stage, opened.facts, opened.power)
        taken = None if opened.answer or lock or not form.is_valid() else _take(request, at, form)
    if lock:
        context = check_context(at, form) | {"typed": request.POST.get("typed", "")}
        return render(request, "bench/check.html", context, status=409)
    if opened.answer:
        return htmx_redirect(request, opened.answer)
    if taken:
        return _respond(request, at, taken)
    template = "bench/_check.html" if request.htmx else "bench/check.html"
    return render(request, template, check_context(at, form), status=422)


def _first(request, at: AtCheck, form):
    """The reading that an earlier post of this entry made. Where its key is another entry's, the form asks again."""
    typed, is_slip = form.data.get("typed", ""), False
    if form.is_valid():
        typed, is_slip = form.cleaned_data["typed"], form.cleaned_data["is_slip"]
    try:
        return first_of(at.opened.facts, at.opened.build, at.check, typed, is_slip, request.user)
    except UsedKey as error:
        form.ask_again(error)
        return None


def _open_anyway(opened: OpenStage) -> OpenStage:
    """The same stage for showing what was stored, whether or not it may still be worked on."""
    opened.sitting = opened.sitting or sittings.current(opened.build)
    return opened


def _take(request, at: AtCheck, form):
    opened, data = at.opened, form.cleaned_data
    opened.sitting = sittings.extend_sitting(opened.build, opened.sitting)
    try:
        judged = at.reading.judged(data["typed"])
        meant = None if data["sure"] else judged.likely_typing_error()
        if meant:
            form.put_question(meant, data["typed"])
            return None
    except ChecksError as error:
        form.refuse(error)
        return None
    taken, opened.facts = add_reading(
        opened.build,
        judged,
        data["typed"],
        opened.facts,
        by=request.user,
        entry_key=data["entry_key"],
        at=timezone.now(),
        is_slip=data["is_slip"],
    )
    mark_done(opened)
    return taken


def _respond(request, at: AtCheck, taken):
    opened = at.opened
    if taken.outcome == Outcome.SWITCH_OFF:
        return htmx_redirect(request, redirect("bench:stop", opened.build.pk))
    if request.htmx:
        return render(request, "bench/_check.html", check_context(at))
    return redirect(reverse("bench:check", args=[opened.build.pk, opened.stage.key, at.check.key]) + "#verdict")
