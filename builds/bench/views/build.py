"""My builds, one build, and its settings."""

from django import forms
from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.bench import access, notices
from builds.bench.diagnosis.overloads import overloaded
from builds.bench.forms import BenchForm
from builds.bench.gates import gating, sittings, stops
from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, mark_stopped
from builds.bench.moves import moving
from builds.bench.readings import self_checks
from builds.bench.readings.bench_then import choose_bench
from builds.bench.readings.judged_again import off_since_sign_off
from builds.bench.readings.mains import is_rewired
from builds.bench.valves.rejudged import reopen_narrowed
from builds.bench.views.errata import unseen
from builds.guides.guide_cache import load_guide
from builds.ui.messages import bench as texts
from builds.ui.messages.mains import hertz_text
from builds.ui.paging import Pages, page_number

BUILDS_A_PAGE = 50


@signed_in
@require_safe
def builds(request):
    mine = mark_stopped(Build.objects.built_by(request.user).with_guide())
    pages = Pages(page_number(request), mine.count(), BUILDS_A_PAGE)
    return render(request, "bench/builds.html", {"builds": pages.of(mine), "pages": pages})


@signed_in
@require_safe
def build(request, pk):
    row = access.own_build(request.user, pk)
    if row.given_up_at:
        goes_on = Build.objects.filter(moved_from__source=row).first()
        if goes_on:
            return redirect("bench:build", goes_on.pk)
    form = BenchForm(
        person=request.user,
        revision=row.revision,
        initial={"mains_volts": row.mains_volts, "mains_hertz": row.mains_hertz, "meter": row.meter_id},
    )
    return _page(request, row, form)


def _page(request, row, form, status=200):
    facts = load_facts(row)
    power = gating.find_power(row, facts)
    if power.stop_unanswered:
        return redirect("bench:stop", row.pk)
    states = gating.stage_states(row, facts)
    following = next((s for s in states if s.state == "open" or s.waits_for_safe), None)
    pieces = self_checks.list_pieces(load_guide(row.revision))
    trims = self_checks.latest_checks(row) if pieces else {}
    return render(
        request,
        "bench/build.html",
        {
            "meter_due": not row.finished_at and row.meter_id and any(part.pk not in trims for part, _piece in pieces),
            "trims": trims.values(),
            "errata": unseen(row) if facts.errata else [],
            "stopped": stops.active_stop(row, power),
            "off_since": off_since_sign_off(row),
            "overload": None if facts.stops else overloaded(row, facts),
            "offer": row.move_offers.filter(taken_at=None, declined_at=None).select_related("revision").first(),
            **_moved(row),
            "hertz_words": hertz_text(row.revision.mains_hertz, row.mains_hertz),
            "build": row,
            "states": states,
            "next": following,
            "power": power,
            "form": form,
            "stage": (following or states[-1]).stage if states else None,
            "sitting": sittings.current_sitting(row),
            "finished": all(s.complete for s in states) and not _news(facts),
            "made_safes": row.made_safes.order_by("-at"),
            "snags": row.snags.select_related("stage")[:20],
        },
        status=status,
    )


def _news(facts) -> str:
    """What the designer says against signing off a build that is done; empty where nothing."""
    if facts.halts:
        return _(
            "The designer has closed a stage of this guide. Wait until it is open again before you sign off this build."
        )
    if facts.errata:
        return _("This guide has corrections that you have not confirmed. Read them before you sign off this build.")
    return ""


def _moved(row) -> dict:
    """Of a build that moved here from an earlier revision: parts to swap and what is to be done again."""
    source = Build.objects.filter(moved_to__build=row).select_related("revision").first()
    if source is None:
        return {}
    return {"source": source, "swaps": row.part_swaps.filter(done_at=None), "redo": moving.left_to_redo(row, source)}


@signed_in
@require_POST
def settings(request, pk):
    row = access.own_build(request.user, pk)
    if row.finished_at or row.given_up_at:  # its record says what it was built and measured with
        messages.error(request, _("This build has ended. Its mains and meter stay as they were."))
        return redirect("bench:build", row.pk)
    form = BenchForm(request.POST, person=request.user, revision=row.revision)
    if not form.is_valid() or _refuse_rewiring(row, form):
        return _page(request, row, form, 422)
    is_moved = form.cleaned_data["mains_volts"] != row.mains_volts
    if is_moved:  # what was measured was measured of other mains
        _end(sittings.current_sitting(row))
    choose_bench(row, form.cleaned_data)
    messages.success(request, _("Saved. Your next readings will be judged with this meter and mains voltage."))
    if is_moved:
        _ask_again(request, len(reopen_narrowed(row)))
    return redirect("bench:build", row.pk)


def _ask_again(request, readings: int) -> None:
    if readings:
        text = ngettext(
            "%(n)d reading is not within its band at this mains voltage. Take it again.",
            "%(n)d readings are not within their bands at this mains voltage. Take them again.",
            readings,
        )
        messages.warning(request, text % {"n": readings})


def _refuse_rewiring(row, form) -> bool:
    """Put an error on mains that ask for another tap, once the kit has had power: what was read on the first tap would
    pass for the second, and the primary is not rewired under power."""
    if not is_rewired(row, form.cleaned_data["mains_volts"]):
        return False
    had_power = (
        row.readings.filter(check_row__stage__power="on").exists()
        or row.carried.filter(check_row__stage__power="on").exists()
        or gating.find_power(row).needs_made_safe
    )
    if had_power:
        form.add_error("mains_volts", forms.ValidationError(texts.rewired(row.mains_volts), code="rewired"))
    return had_power


def _end(sitting) -> None:
    if sitting:
        sitting.ended_at = timezone.now()
        sitting.save(update_fields=["ended_at"])


@signed_in
@require_POST
def end_sitting(request, pk):
    row = access.own_build(request.user, pk)
    _end(sittings.current_sitting(row))
    messages.success(
        request, _("Session ended. Next time you will be asked to confirm the cautions and the mains voltage again.")
    )
    return redirect("bench:build", row.pk)


@signed_in
@require_POST
def finish(request, pk):
    """Sign a build off, when every stage is done."""
    row = access.own_build(request.user, pk)
    facts = load_facts(row)
    if not all(state.complete for state in gating.stage_states(row, facts)):
        messages.error(request, _("Some stages are not done yet. Finish them before you sign off this build."))
    elif row.finished_at is None and (against := _news(facts)):
        messages.error(request, against)
    elif row.finished_at is None:
        row.finished_at = timezone.now()
        with transaction.atomic():
            row.save(update_fields=["finished_at"])
            notices.notify_of_sign_off(row)
        messages.success(request, _("Signed off. Thank you. The designer now sees the whole build."))
    return redirect("bench:build", row.pk)
