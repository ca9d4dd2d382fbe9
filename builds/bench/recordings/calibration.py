"""Volts of a recording: from the meter's reading while the tone played, kept for later ones at the same level."""

from builds.bench.models import Recording
from builds.bench.recordings.plans import plan_from
from checks.derived import Known
from checks.errors import ChecksError
from checks.meter import PRESETS, measure
from checks.quantity import parse_quantity
from checks.tone.analysis import Analysis
from checks.tone.card import volts_per_unit
from checks.tone.sources import SignalPlan

AC = "ac volts"
MOST_DOUBT = 0.05  # share by which a meter may be off at the tone's frequency and still set the scale of recordings


def calibration_of(recording: Recording, channel: Analysis) -> Known | None:
    """Volts of full scale: by this recording's own meter reading, else by the build's latest; None where there is none.

    A reading that cannot be used calibrates nothing, and none before it stands in: its level may have been another.
    """
    if recording.meter_volts and _is_read_well(recording):
        if channel.distortion is None or not channel.is_usable:
            return None
        try:
            return volts_per_unit(_meter_reading(recording), channel.distortion.fundamental.rms)
        except ChecksError:
            return None
    return latest_calibration(recording)


def latest_calibration(recording: Recording) -> Known | None:
    earlier = (
        Recording.objects.filter(build=recording.build_id, state=Recording.State.ANALYSED, scale__isnull=False)
        .exclude(meter_volts="")
        .filter(at__lte=recording.at)
        .first()
    )
    if earlier is None or earlier.scale is None or earlier.scale_u is None:
        return None
    return Known(earlier.scale, earlier.scale_u)


def meter_at_tone(build, plan: SignalPlan) -> float:
    """The share by which the build's meter may be off at the frequency of a tone."""
    return _meter_of(build).frequency_doubt(plan.exact_hertz[0])


def _is_read_well(recording: Recording) -> bool:
    return meter_at_tone(recording.build, plan_from(recording.plan)) <= MOST_DOUBT


def _meter_of(build):
    return build.meter.as_spec() if build.meter else PRESETS["basic"][1]


def _meter_reading(recording: Recording) -> Known:
    hertz = plan_from(recording.plan).exact_hertz[0]
    measured = measure(parse_quantity(recording.meter_volts, "V"), AC, _meter_of(recording.build), hertz=hertz)
    return Known(measured.number, measured.u)
