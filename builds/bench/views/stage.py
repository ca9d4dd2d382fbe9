"""A stage: its cautions, steps to tick and checks to read."""

from dataclasses import dataclass, replace

from django.contrib import messages
from django.db import transaction
from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_htmx.http import HttpResponseClientRefresh

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.accounts.not_saved import WRITE_ERRORS, warn_owner
from builds.bench import access, errata
from builds.bench.diagnosis.overloads import overloaded
from builds.bench.forms import CautionsForm, PhotoForm, SwitchOnForm
from builds.bench.gates import gating, locks, sittings, stops
from builds.bench.gates.facts import Facts, load_facts
from builds.bench.models import Build, Sitting, StageVisit, Tick
from builds.bench.offline import receipts
from builds.bench.offline.arrival import Arrival, find_arrival, mark_entry_saved
from builds.bench.offline.power_then import was_live
from builds.bench.readings.derived import list_derived
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.readings.mains import tap_share
from builds.bench.valves import fitting
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.next_up import next_up
from builds.bench.views.stage_lines import list_lines, step_line
from builds.guides.feeding import setting_sentences
from builds.guides.guide_cache import Guide
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Stage
from builds.ui.messages.mains import line_text

HELD_BACK = "bench/shut.html"


@dataclass
class OpenStage:
    """A stage someone asked for: where the build stands, and `answer`, the page to show instead when it may not be
    worked on."""

    build: Build
    guide: Guide  # in the builder's language
    stage: Stage
    facts: Facts
    state: gating.StageState = None  # type: ignore[assignment]  # known, like `power`, where there is no answer
    sitting: Sitting | None = None
    answer: HttpResponse | None = None
    power: gating.Power = None  # type: ignore[assignment]
    again: bool = False  # a check that was read is to be read again
    wants_cautions: bool = False  # they are what is missing


def find_stage(build, key):
    """A stage of the build's guide by its key. Raises Http404."""
    return stage_among(gating.guide_stages(build), key)


def stage_among(stages, key):
    for stage in stages:
        if stage.key == key:
            return stage
    raise Http404(_("This guide has no such stage."))


def open_stage(request, build, key, facts=None) -> OpenStage:
    """Whether a stage of this builder's own build may be worked on now. Two queries beside the build."""
    guide = load_guide_in(build.revision, get_language())
    opened = OpenStage(build, guide, stage_among(guide.stages, key), facts or load_facts(build))
    if (build.finished_at or build.given_up_at) and request.method == "POST":  # the record stays as it was closed
        opened.answer = _closed(request, opened)
        return opened
    if build.given_up_at:  # ended, or moved to a later revision: its page says which
        opened.answer = redirect("bench:build", build.pk)
        return opened
    power = opened.power = gating.power_by(opened.facts, guide.powered)
    if power.stop_unanswered:
        opened.answer = redirect("bench:stop", build.pk)
        return opened
    opened.state = gating.state_among(guide.stages, opened.stage, opened.facts, power)
    if opened.state.state == "shut":
        opened.answer = render(
            request,
            HELD_BACK,
            {
                "build": build,
                "stage": opened.stage,
                "state": opened.state,
                "power": power,
                "stopped": stops.active_stop(build, power),
                "typed": request.POST.get("typed", ""),
            },
            status=409,
        )
        return opened
    if opened.stage.pk in opened.facts.errata:
        opened.answer = redirect("bench:errata", build.pk, opened.stage.key)
        return opened
    arrival = find_arrival(request)
    opened.sitting = sittings.at_moment(build, arrival.at) if arrival.is_late else sittings.current_sitting(build)
    if not build.finished_at and not sittings.ready_for(opened.sitting, opened.stage, opened.facts):
        opened.wants_cautions = True
        opened.answer = redirect("bench:cautions", build.pk, opened.stage.key)
    return opened


def _closed(request, opened: OpenStage) -> HttpResponse:
    build = opened.build
    moved_to = Build.objects.filter(moved_from__source=build).select_related("revision").first()
    context = {"build": build, "stage": opened.stage, "moved_to": moved_to, "typed": request.POST.get("typed", "")}
    return render(request, "bench/closed.html", context, status=409)


@signed_in
@require_safe
def stage(request, pk, key):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if opened.answer:
        return opened.answer
    build, row = opened.build, opened.stage
    sitting = opened.sitting if request.method == "HEAD" else _visit(opened)
    guide, photos = (
        load_guide_in(build.revision, get_language()),
        photos_by_step(build.photos.filter(stage=row, check_row=None, snag=None)),
    )
    statuses = {s.check_row_id: s for s in build.statuses.filter(check_row__stage=row).select_related("latest")}
    corrected = errata.active_errata(build, row)
    return render(
        request,
        "bench/stage.html",
        {
            "build": build,
            "stage": row,
            "state": opened.state,
            "lines": list_lines(opened, photos, statuses, corrected),
            "next": next_up(build, row, opened.facts, power=opened.power),
            "stopped": stops.active_stop(build, opened.power),
            "errata": errata.errata_of_stage(corrected, row.steps.all()),
            "photo_form": PhotoForm(),
            "has_examples": any(step.picture and step.photo != step.Photo.NONE for step in row.steps.all()),
            "stage_photos": photos.get(None, []),
            "cautions": cautions_for(row.cautions),
            "sitting": sitting,
            "power": opened.power,
            "switch_on": SwitchOnForm(),
            "needs_switch_on": _needs_switch_on(opened),
            "overload": None if opened.facts.stops else overloaded(build, opened.facts),
            "to_set": setting_sentences(row, tap_share(build), guide.parts),
            "unnoted": fitting.sockets_without_note(build, row),
            "derived": list_derived(guide, [(c, statuses.get(c.pk)) for c in row.checks.all()])
            if row.is_powered
            else [],
            "parts": guide.parts,
        },
    )


def _visit(opened: OpenStage) -> Sitting | None:
    """The builder is at this stage now. HEAD (RFC 9110, 9.3.2) shows nobody anything, and is no visit. Where nothing
    can be written the guide, its cautions and the stop limits are read all the same."""
    try:
        if opened.stage.pk not in opened.facts.visits:
            StageVisit.objects.get_or_create(build=opened.build, stage=opened.stage)
        return sittings.extend_sitting(opened.build, opened.sitting)
    except WRITE_ERRORS as error:
        warn_owner(error)
        return opened.sitting


def _needs_switch_on(opened: OpenStage) -> bool:
    """Is live work left in this stage, with the kit made safe and nothing that forbids to switch on?"""
    is_left = opened.stage.is_powered and opened.state.is_open and not opened.build.finished_at
    return is_left and not opened.power.needs_made_safe and not locks.is_stopped_elsewhere(None, opened.facts)


def photos_by_step(photos) -> dict:
    """Step id (None: the stage as a whole) -> its photos."""
    sorted_: dict = {}
    for photo in photos:
        sorted_.setdefault(photo.step_id, []).append(photo)
    return sorted_


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def cautions(request, pk, key):
    """Never of a build that is signed off or given up, nor past a stop, a gate or an erratum that is not confirmed."""
    opened = open_stage(request, access.own_build(request.user, pk), key)
    build, row = opened.build, opened.stage
    if opened.answer and not opened.wants_cautions:
        return redirect("bench:stage", build.pk, row.key) if request.method != "POST" else opened.answer
    if build.finished_at:
        return redirect("bench:stage", build.pk, row.key)
    form = CautionsForm(request.POST or None, nominal=build.mains_volts)
    if request.method == "POST" and form.is_valid() and _acknowledged(request, opened, form):
        return redirect("bench:stage", build.pk, row.key)
    setting = setting_sentences(row, tap_share(build), load_guide_in(build.revision, get_language()).parts)
    return render(
        request,
        "bench/cautions.html",
        {
            "build": build,
            "stage": row,
            "form": form,
            "to_set": setting,
            "cautions": cautions_for(row.cautions),
            "stopped": stops.active_stop(build, opened.power),
        },
        status=422 if request.method == "POST" else 200,
    )


def _acknowledged(request, opened: OpenStage, form) -> bool:
    volts, key = form.cleaned_data["mains"], form.cleaned_data["entry_key"]
    sitting = sittings.open_sitting(opened.build)
    try:
        with transaction.atomic():
            live = not locks.is_stopped_elsewhere(None, opened.facts)
            sittings.acknowledge(sitting, opened.stage, volts, by=request.user, entry_key=key, live=live)
    except UsedKey as error:
        form.ask_again(error)
        return False
    odd = line_text(opened.build.mains_volts, volts) if volts else ""
    if odd:
        messages.warning(request, odd)
    return True


@signed_in
@require_POST
def tick(request, pk, key, step):
    """Tick a step, or take the tick back; posting the same wish twice changes nothing. A step that puts hands in is not
    ticked while power is on record, and no step before the checks that the guide puts first. In live work after made
    safe it is asked whether the power is on again (`power`: "off")."""
    done, arrival = request.POST.get("done") != "no", find_arrival(request)
    with transaction.atomic():  # a reading posted at the same moment takes its turn: it may put power on record
        build = access.locked_build(request.user, pk)
        if again := receipts.answer_again(request, build, arrival):
            return again
        opened = open_stage(request, build, key)
        if opened.answer:
            return htmx_redirect(request, opened.answer)
        row = find_step(opened.stage, step)
        is_new = done and row.pk not in opened.facts.ticked
        lock = _lock_on(request, opened, row) if is_new else None
        if lock is None:
            _note_tick(opened, row, done, arrival)
    if lock is None:
        mark_entry_saved(request, arrival.at)
    if lock and not request.htmx:
        context = {"build": opened.build, "stage": opened.stage, "step": row, "lock": lock}
        return render(request, "bench/locked.html", context | _switching(opened), status=409)
    if lock is None and mark_done(opened) and request.htmx:
        return HttpResponseClientRefresh()  # the whole page has news: this stage is done
    if request.htmx:
        return _ticked(request, opened, row, lock)
    return redirect(f"{row_url(opened.build, opened.stage)}#step-{row.key}")


def _lock_on(request, opened: OpenStage, step) -> locks.Lock | None:
    lock = locks.find_lock(step, opened.stage, opened.facts, opened.power) or _was_live(request, opened, step)
    if lock or request.POST.get("power") == "off":
        return lock
    return locks.asks_power(step, opened.stage, opened.power)


def _was_live(request, opened: OpenStage, step) -> locks.Lock | None:
    """Ticked on a phone without a connection, while the kit had power and was made safe only later: not the work of a
    safe kit."""
    arrival = find_arrival(request)
    is_locked = step.hands_in and arrival.is_late and was_live(opened.build, arrival.at)
    return locks.Lock(locks.Reason.POWER) if is_locked else None


def _switching(opened: OpenStage) -> dict:
    """What the question whether the power is on is asked with. While a stop stands nobody is asked to switch on."""
    is_stopped = locks.is_stopped_elsewhere(None, opened.facts)
    return {"switch_on": None if is_stopped else SwitchOnForm()}


def _note_tick(opened: OpenStage, step, done: bool, arrival: Arrival) -> None:
    """What was wished later, on another phone, is not undone by an older wish that comes in late. A tick dated ahead of
    now is of a clock that was set back since: it can be taken back."""
    if done and receipts.was_unticked_since(opened.build, step, arrival):
        receipts.record_tick(opened.build, arrival, step, done)
        return
    if done:
        Tick.objects.get_or_create(build=opened.build, step=step, defaults={"at": arrival.at})
    else:
        of_before = Q(at__lte=arrival.at) | Q(at__gt=timezone.now())
        Tick.objects.filter(of_before, build=opened.build, step=step).delete()
    receipts.record_tick(opened.build, arrival, step, done)
    opened.facts = opened.facts.with_tick(step.pk, done)


def _ticked(request, opened: OpenStage, step, lock: locks.Lock | None):
    """The step as it is now (`lock`: why it was not ticked), and the page's pointer to what is next."""
    build, stage = opened.build, opened.stage
    photos, corrected = list(build.photos.filter(step=step)), errata.active_errata(build, stage)
    number = list(stage.steps.all()).index(step) + 1
    return render(
        request,
        "bench/_ticked.html",
        {
            "build": build,
            "stage": stage,
            "line": replace(step_line(opened, step, number, photos, corrected), lock=lock),
            "next": next_up(build, stage, opened.facts, power=opened.power),
            "state": gating.state_in(stage, opened.facts),
            "stopped": stops.active_stop(build, opened.power),
            "photo_form": PhotoForm(),
            "parts": load_guide_in(build.revision, get_language()).parts,
            **_switching(opened),
        },
        status=422 if lock else 200,
    )


def find_step(stage, key):
    for row in stage.steps.all():
        if row.key == key:
            return row
    raise Http404(_("This stage has no such step."))


def row_url(build, row):
    return reverse("bench:stage", args=[build.pk, row.key])


def mark_done(opened: OpenStage) -> bool:
    """Note when everything in a stage was done (or that it no longer is); says which."""
    complete = gating.state_in(opened.stage, opened.facts).complete
    if complete != opened.facts.visits.get(opened.stage.pk, False):
        StageVisit.objects.filter(build=opened.build, stage=opened.stage).update(
            done_at=timezone.now() if complete else None
        )
    return complete
