"""The background job that measures a recording, and the readings of the checks that asked for it."""

from uuid import uuid4

from django.db import transaction
from django.db.models import Q

from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, Recording
from builds.bench.readings.context import build_context
from builds.bench.readings.taking import add_reading
from builds.bench.recordings.calibration import find_calibration, is_doubted
from builds.bench.recordings.files import list_blocks
from builds.bench.recordings.loopback import find_passage, harmonics_of_card
from builds.bench.recordings.plans import Wanted, as_table, list_wanted_signals, plan_from
from builds.bench.recordings.results import build_results
from builds.bench.recordings.twins import find_twin
from builds.jobs.registry import job
from checks.errors import ChecksError
from checks.tone.analysis import Analysis, analyse
from checks.tone.passage import Passage
from checks.tone.requests import CHANNELS, find_figure
from checks.tone.sources import Signal

KIND = "recording"


@job(KIND)
def analyse_recording(report, pk: int) -> None:
    """Measure it once, whatever becomes of the figures. What calibrates it goes first, should two workers overtake."""
    recording = Recording.objects.select_related("build__revision", "stage").get(pk=pk)
    waiting = [recording] if recording.state == Recording.State.WAITING else []
    waiting = [*_calibrating(recording), *waiting]
    for done, row in enumerate(waiting):
        report(done, len(waiting))
        _measure(row)


def _calibrating(recording: Recording) -> list[Recording]:
    """Earlier recordings of the same build that nobody has measured yet and this one is judged by: those that a meter
    was read with, and sweeps."""
    waiting = Recording.objects.filter(build=recording.build_id, state=Recording.State.WAITING)
    earlier = waiting.filter(at__lte=recording.at).exclude(pk=recording.pk)
    rows = earlier.filter(~Q(meter_volts="") | Q(plan__signal=str(Signal.SWEEP)))
    return list(rows.select_related("build__revision", "stage").order_by("at"))


def _measure(recording: Recording) -> None:
    try:
        channels = analyse(
            plan_from(recording.plan),
            recording.rate,
            recording.channels,
            lambda: list_blocks(recording.file),
            is_stereo=_is_stereo(recording),
        )
    except ChecksError as error:
        _refuse(recording, error)
        return
    try:
        _store(recording, channels)
    except Exception:  # whoever waits for it is told; the job's log says why
        _refuse(recording, ChecksError("Measuring broke.", code="broke"))
        raise


def _requested_signal(recording: Recording) -> Wanted | None:
    signals = list_wanted_signals(recording.stage) if recording.stage else []
    return next((w for w in signals if as_table(w.plan) == recording.plan), None)


def _is_stereo(recording: Recording) -> bool:
    """Are figures of both channels asked for?"""
    signal = _requested_signal(recording)
    return signal is not None and signal.channels == 2


def _refuse(recording: Recording, error: ChecksError) -> None:
    recording.state = Recording.State.REFUSED
    recording.error = {"code": error.code, "params": error.params}
    recording.save(update_fields=["state", "error"])


@transaction.atomic
def _store(recording: Recording, channels: tuple[Analysis, ...]) -> None:
    build = Build.objects.select_for_update().get(pk=recording.build_id)
    if not Recording.objects.filter(pk=recording.pk, state=Recording.State.WAITING).exists():
        return  # another worker was quicker
    scale = None if recording.is_loopback else find_calibration(recording, channels[0])
    passage = None if recording.is_loopback else find_passage(recording)
    recording.results = [build_results(channel, scale, passage) for channel in channels]
    recording.marks = list(channels[0].marks)
    if (twin := find_twin(recording)) is not None:
        _refuse(recording, _sent_before(recording, twin))
        return
    recording.scale, recording.scale_u = (scale.value, scale.u) if scale else (None, None)
    recording.state = Recording.State.ANALYSED
    recording.save(update_fields=["results", "marks", "scale", "scale_u", "state"])
    if recording.stage_id:
        _take_readings(build, recording, channels, scale, passage)


def _sent_before(recording: Recording, twin: Recording) -> ChecksError:
    if twin.build_id != recording.build_id:
        return ChecksError("Sent before.", code="another-build", serial=twin.build.serial)
    if twin.is_loopback or recording.is_loopback:
        return ChecksError("Sent before.", code="loop-back-again")
    return ChecksError("Sent before.", code="another-stage", stage=twin.stage.title if twin.stage else "")


def _take_readings(build: Build, recording: Recording, channels, scale, passage: Passage | None) -> None:
    signal = _requested_signal(recording)
    facts, refused, own = load_facts(build), {}, harmonics_of_card(recording)
    for check, request in signal.checks if signal else ():
        try:
            figure = find_figure(request, channels[CHANNELS.index(request.channel)], scale, passage, own)
            judged = build_context(build, check, None).judged_known(figure)
        except IndexError:
            refused[check.key] = {"code": "no-channel", "params": {}}
            continue
        except ChecksError as error:
            refused[check.key] = {"code": _why_refused(recording, channels[0], error), "params": error.params}
            continue
        _taken, facts = add_reading(
            build, judged, judged.shown, facts, by=recording.by, at=recording.at, entry_key=uuid4(), is_slip=False
        )
    if refused:
        recording.error = {"checks": refused}
        recording.save(update_fields=["error"])


def _why_refused(recording: Recording, channel: Analysis, error: ChecksError) -> str:
    """The code of the refusal: without a scale, why the meter's reading gave none."""
    if error.code != "no-calibration" or not recording.meter_volts:
        return error.code
    return "meter-decades" if is_doubted(recording, channel) else "meter-frequency"
