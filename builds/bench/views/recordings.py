"""Recordings of the finished amplifier: what to play, what to send, and what was measured."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.accounts.cautions import cautions_for
from builds.accounts.limits import limited
from builds.bench import access
from builds.bench.diagnosis.overloads import overloaded
from builds.bench.gates import stops
from builds.bench.models import Reading, Recording
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.recordings.cautions import cautions_beside
from builds.bench.recordings.files import SoundFile
from builds.bench.recordings.forms import RecordingForm
from builds.bench.recordings.loopback import list_loopbacks, loopback_signals
from builds.bench.recordings.plans import Wanted, as_table, list_wanted_signals
from builds.bench.recordings.results_page import result_pages
from builds.bench.recordings.set_up import plan_set_up
from builds.bench.recordings.taking import keep_recording
from builds.bench.recordings.wav import inverse_bytes, wav_bytes
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.stage import OpenStage, find_stage, open_stage

CAUTIONS = ("lethal-voltage", "not-alone", "mains-earth", "hot-glass")


@signed_in
@require_safe
def recordings(request, pk, key):
    opened = open_stage(request, access.own_build(request.user, pk), key)
    return opened.answer or _page(request, opened)


def _page(request, opened: OpenStage, number: int = 0, form: RecordingForm | None = None):
    """The stage's signals, each with its form; `form` is one that was posted and comes back."""
    signals = _requested_signals(opened)
    rows = [
        {"wanted": one, "form": form if one.number == number else _form(one), "latest": _latest(opened, one)}
        for one in signals
    ]
    set_up, card = plan_set_up(opened.build.revision, signals), list_loopbacks(opened.build)
    context = {
        "build": opened.build,
        "stage": opened.stage,
        "rows": rows,
        "set_up": set_up,
        "cautions": cautions_for(CAUTIONS),
        "beside": cautions_beside(set_up),
        "card": card,
        "is_card_whole": all(str(one.plan.signal) in card for one in loopback_signals(signals)),
        "stopped": stops.active_stop(opened.build, opened.power),
        "overload": _overload(opened),
        "power": opened.power,
    }
    return render(request, "bench/recordings.html", context, status=422 if form and form.errors else 200)


def _overload(opened: OpenStage):
    """The reading that may mean an overload; beside a stop, which says more, none."""
    return None if opened.facts.stops else overloaded(opened.build, opened.facts)


def _requested_signals(opened: OpenStage) -> list[Wanted]:
    signals = list_wanted_signals(opened.stage)
    if not signals:
        raise Http404(_("No recording is needed in this stage."))
    return signals


def _form(signal: Wanted, *args) -> RecordingForm:
    needs = any(request.needs_volts for _check, request in signal.checks)
    return RecordingForm(*args, calibrates=signal.is_calibrating, needs_volts=needs, auto_id=f"id_{signal.number}_%s")


def _latest(opened: OpenStage, signal: Wanted) -> Recording | None:
    return opened.build.recordings.filter(stage=opened.stage, plan=as_table(signal.plan)).first()


def _numbered(signals: list[Wanted], number: int) -> Wanted:
    if not 1 <= number <= len(signals):
        raise _no_such_signal()
    return signals[number - 1]


def _no_such_signal() -> Http404:
    return Http404(_("This stage has no such test signal."))


@signed_in
@require_safe
def signal(request, pk, key, number):
    """A test signal as a sound file, or with ?inverse=1 the inverse of a sweep."""
    build = access.visible_build(request.user, pk)
    signals = list_wanted_signals(find_stage(build, key))
    chosen = next((one for one in [*signals, *loopback_signals(signals)] if one.number == number), None)
    wants_inverse = "inverse" in request.GET
    if chosen is None or (wants_inverse and not chosen.is_sweep):
        raise _no_such_signal()
    sound = inverse_bytes(chosen.plan) if wants_inverse else wav_bytes(chosen.plan, chosen.channels)
    name = f"{build.revision.kit.key}-{key}-{number}{'-inverse' if wants_inverse else ''}"
    answer = HttpResponse(sound, content_type="audio/wav")
    answer["Content-Disposition"] = f'attachment; filename="{name}.wav"'
    return answer


@signed_in
@require_POST
@limited("upload")
def add(request, pk, key, number):
    """Keep a recording. No reading is taken while a stop stands or another may mean an overload, so none is recorded
    either."""
    opened = open_stage(request, access.own_build(request.user, pk), key)
    if opened.answer:
        return htmx_redirect(request, opened.answer)
    chosen = _numbered(_requested_signals(opened), number)
    form = _form(chosen, request.POST, request.FILES)
    if stops.active_stop(opened.build, opened.power) or _overload(opened):
        form.add_error(None, _("Measure nothing until the check that made you switch off is within its band again."))
    if form.is_valid():
        try:
            row = _keep(request, opened, chosen, form, form.sound)
            return htmx_redirect(request, redirect("bench:recording", opened.build.pk, row.pk))
        except UsedKey as error:
            form.ask_again(error)
    return _page(request, opened, number, form)


def _keep(request, opened: OpenStage, chosen: Wanted, form: RecordingForm, sound: SoundFile) -> Recording:
    data = form.cleaned_data
    return keep_recording(
        opened.build,
        opened.stage,
        chosen.plan,
        data["file"],
        sound,
        key=data["entry_key"],
        meter_volts=data.get("meter_volts", ""),
        by=request.user,
    )


@signed_in
@require_safe
def recording(request, pk, recording):
    """What was measured; while the work goes on, the page looks again by itself."""
    build = access.visible_build(request.user, pk)
    row = get_object_or_404(build.recordings.select_related("stage"), pk=recording)
    channels, knows_card = result_pages(row)
    context = {
        "build": build,
        "stage": row.stage,
        "recording": row,
        "channels": channels,
        "knows_card": knows_card,
        "answers": _answers(row),
    }
    template = "bench/_recording.html" if request.htmx else "bench/recording.html"
    return render(request, template, context)


def _answers(recording) -> list[Reading]:
    """The readings that came of it: its moment is theirs."""
    taken = Reading.objects.filter(build=recording.build_id, at=recording.at, check_row__stage=recording.stage_id)
    return list(taken.exclude(check_row__recording={}).select_related("check_row").order_by("pk"))
