"""The sound card by itself: recorded once a card, with nothing of the kit connected."""

from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from builds.accounts.access import signed_in
from builds.accounts.limits import limited
from builds.bench import access
from builds.bench.models import Recording
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.recordings.forms import RecordingForm
from builds.bench.recordings.loopback import loopback_signals
from builds.bench.recordings.plans import Wanted, as_table, list_wanted_signals
from builds.bench.recordings.taking import keep_recording
from builds.bench.views.htmx_redirect import htmx_redirect
from builds.bench.views.stage import find_stage


@signed_in
@require_safe
def loopback(request, pk, key):
    build = access.own_build(request.user, pk)
    return _page(request, build, find_stage(build, key))


@signed_in
@require_POST
@limited("upload")
def add_loopback(request, pk, key, number):
    """Nothing of the kit is measured, so no stop, lock or made safe stands against it."""
    build = access.own_build(request.user, pk)
    stage = find_stage(build, key)
    signal = next((one for one in _requested_signals(stage) if one.number == number), None)
    if signal is None:
        raise Http404(_("No loop-back recording of this signal is needed."))
    form = _form(signal, request.POST, request.FILES)
    if form.is_valid():
        data = form.cleaned_data
        try:
            row = keep_recording(
                build,
                None,
                signal.plan,
                data["file"],
                form.sound,
                key=data["entry_key"],
                meter_volts="",
                by=request.user,
            )
            return htmx_redirect(request, redirect("bench:recording", build.pk, row.pk))
        except UsedKey as error:
            form.ask_again(error)
    return _page(request, build, stage, number, form)


def _page(request, build, stage, number: int = 0, form: RecordingForm | None = None):
    rows = [
        {"wanted": one, "form": form if one.number == number else _form(one), "latest": _latest(build, one)}
        for one in _requested_signals(stage)
    ]
    context = {"build": build, "stage": stage, "rows": rows}
    return render(request, "bench/loopback.html", context, status=422 if form and form.errors else 200)


def _requested_signals(stage) -> list[Wanted]:
    signals = loopback_signals(list_wanted_signals(stage))
    if not signals:
        raise Http404(_("No recording is needed in this stage."))
    return signals


def _form(signal: Wanted, *args) -> RecordingForm:
    return RecordingForm(*args, auto_id=f"id_{signal.number}_%s")


def _latest(build, signal: Wanted) -> Recording | None:
    return build.recordings.filter(stage=None, plan=as_table(signal.plan)).first()
