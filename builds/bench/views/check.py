"""One check in focus: where to put the probes, the field, and the verdict in the same place every time."""

from uuid import uuid4

from django.db import transaction
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from builds.accounts.access import signed_in
from builds.bench import access, errata
from builds.bench.diagnosis import designer_hints
from builds.bench.diagnosis.advice import advice_on
from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.forms import PhotoForm
from builds.bench.gates import gating, locks, sittings, stops
from builds.bench.gates.facts import facts_of
from builds.bench.readings import self_checks
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.mains import line_at, tap_of, tap_share
from builds.bench.readings.taking import (
    add_reading,
    band_here,
    meant_instead,
    ohms_across,
    without_load,
)
from builds.bench.views.figures import figures_of
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import next_up
from builds.bench.views.stage import Open, mark_done, open_stage, stage_of
from builds.guides.circuit.stored import figure_of
from builds.guides.feeding import own_volts, to_set
from builds.guides.figures import expected_words, exponent_of
from builds.guides.guide_cache import load_guide
from builds.guides.probes import marked
from builds.ui.messages.advice import advice_text
from checks.errors import ChecksError
from checks.verdict import Outcome

OFF = (Outcome.OUT_OF_BAND.value, Outcome.SWITCH_OFF.value)  # readings that ask for a cause


def check_context(here: Open, row, form) -> dict:
    """All that the check page and its fragment show."""
    build, stage, guide = here.build, here.stage, load_guide(here.build.revision)
    mains = here.sitting.mains_volts if here.sitting else None
    red, black = guide.probes.pair(row)
    readings = list(build.readings.filter(check_row=row).order_by("-attempt"))
    for reading in readings:
        reading.check_row = row
    last, stand = readings[0] if readings else None, here.facts.stands.get(row.pk)
    checks, band = list(stage.checks.all()), band_here(build, row, mains)
    carried = _carried(here, row)
    follows_mains = bool(not own_volts(stage) and exponent_of(row))
    allowed = allowed_measurements(build, row, here.facts)
    found = diagnose(build, row, here.facts) if last and last.outcome in OFF else None
    hints, next_check = designer_hints.for_reading(row, last, guide, allowed)
    return {
        "build": build,
        "stage": stage,
        "check": row,
        "form": form,
        "photo_form": PhotoForm(),
        "photos": build.photos.filter(check_row=row, snag=None),
        "red": red,
        "black": black,
        "last": last,
        "readings": readings,
        "standing": stand,
        "carried": carried,
        "shows_form": form.is_bound or not (last or carried) or here.again,
        "band": band,
        "mains": mains,
        "figures": figures_of(row, band, ohms_across(build, row), expected_words(row), follows_mains),
        "errata": errata.of_check(errata.standing(build, stage), row),
        "without_load": without_load(last) if last else "",
        "line": line_at(build, row, mains),
        "tap": tap_of(build),
        "own_volts": own_volts(stage),
        "to_set": to_set(stage, tap_share(build), guide.parts),
        "settle": (figure_of(row) or {}).get("settle", []),
        "hints": hints,
        "hint_next": next_check,
        "shown": marked(row, red, guide.pictures),
        "next": next_up(build, stage, here.facts, after=row),
        "lock": locks.lock_of_check(row, stage, here.facts),
        "number": checks.index(row) + 1,
        "of": len(checks),
        "out_of_trim": self_checks.flagged(build),
        "stopped": stops.standing_stop(build, gating.power_of(build, here.facts)),
        "found": found,
        "advice": advice_text(advice_on(build, row, last, here.facts, found)),
    }


def _carried(here: Open, row):
    """The reading that came along from an earlier revision, where this check stands on one."""
    return here.build.carried.filter(check_row=row).first() if row.pk in here.facts.carried else None


def check_of(stage, key):
    for found in stage.checks.all():
        if found.key == key:
            return found
    raise Http404("This stage has no such check.")


@signed_in
@require_GET
def check(request, pk, key, check):
    here = open_stage(request, access.own_build(request.user, pk), key)
    if here.answer:
        return here.answer
    here.again, row = "measure" in request.GET, check_of(here.stage, check)
    return render(request, "bench/check.html", check_context(here, row, ReadingForm(check=row)))


@signed_in
@require_POST
def reading(request, pk, key, check):
    """Take a reading. A stop takes over the page; anything unreadable comes back with what is accepted."""
    with transaction.atomic():
        build = access.locked_build(request.user, pk)
        row = check_of(stage_of(build, key), check)
        form = ReadingForm(request.POST, check=row)
        facts = facts_of(build, form.cleaned_data.get("entry_key") if form.is_valid() else None)
        first = build.readings.get(pk=facts.reading) if facts.reading else None
        if first and _same(first, row, form):  # a double tap or a retry: show what the first post made
            return _answer(request, _met(build, key, facts), row, first)
        here = open_stage(request, build, key, facts)
        if first and not here.answer:
            form = _sent_before(request, row, first)
        lock = None if here.answer else locks.lock_of_check(row, here.stage, here.facts)
        taken = None if here.answer or lock or not form.is_valid() else _take(request, here, row, form)
    if lock:
        context = check_context(here, row, form) | {"typed": request.POST.get("typed", "")}
        return render(request, "bench/check.html", context, status=409)
    if here.answer:
        return htmx_redirect(request, here.answer)
    if taken:
        return _answer(request, here, row, taken)
    template = "bench/_check.html" if request.htmx else "bench/check.html"
    return render(request, template, check_context(here, row, form), status=422)


def _same(first, row, form) -> bool:
    data = form.cleaned_data
    return (first.check_row_id, first.typed, first.is_slip) == (row.pk, data["typed"].strip()[:40], data["is_slip"])


def _sent_before(request, row, first) -> ReadingForm:
    """The form for something new typed into a page that had been sent already, as after the browser's Back: nothing is
    lost."""
    form = ReadingForm({**request.POST.dict(), "entry_key": str(uuid4())}, check=row)
    form.add_error(
        "typed",
        f"This page was used before and has logged {first.typed}. What you typed now is not logged yet: "
        "send it again, and it is the next attempt.",
    )
    return form


def _met(build, key, facts) -> Open:
    return Open(build, stage_of(build, key), facts, sitting=sittings.current(build))


def _take(request, here: Open, row, form):
    here.sitting = sittings.keep_up(here.build, here.sitting)
    data, mains = form.cleaned_data, here.sitting.mains_volts if here.stage.is_powered else None
    try:
        meant = None if data["sure"] else meant_instead(here.build, row, data["typed"], mains)
        if meant:
            form.put_question(meant, data["typed"])
            return None
        taken, here.facts = add_reading(
            here.build,
            row,
            data["typed"],
            here.facts,
            by=request.user,
            entry_key=data["entry_key"],
            at=timezone.now(),
            mains_volts=mains,
            is_slip=data["is_slip"],
        )
    except ChecksError as error:
        form.refuse(error)
        return None
    mark_done(here)
    return taken


def _answer(request, here: Open, row, taken):
    if taken.outcome == Outcome.SWITCH_OFF.value:
        return htmx_redirect(request, redirect("bench:stop", here.build.pk))
    if request.htmx:
        return render(request, "bench/_check.html", check_context(here, row, ReadingForm(check=row)))
    return redirect(reverse("bench:check", args=[here.build.pk, here.stage.key, row.key]) + "#verdict")
