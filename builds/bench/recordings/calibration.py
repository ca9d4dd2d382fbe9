"""Volts of a recording: from the meter's reading while the tone played, kept for later ones at the same level."""

from builds.bench.models import Recording
from checks.derived import Known
from checks.errors import ChecksError
from checks.meter import PRESETS, measure
from checks.quantity import parse_quantity
from checks.tone.analysis import Analysis
from checks.tone.card import volts_per_unit

AC = "ac volts"


def calibration_of(recording: Recording, channel: Analysis) -> Known | None:
    """Volts of full scale: by this recording's own meter reading, else by the build's latest; None where there is none.

    A reading that cannot be used calibrates nothing.
    """
    if recording.meter_volts and channel.distortion is not None and channel.is_usable:
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
    return Known(earlier.scale, earlier.scale_u) if earlier else None


def _meter_reading(recording: Recording) -> Known:
    build = recording.build
    meter = build.meter.as_spec() if build.meter else PRESETS["basic"][1]
    measured = measure(parse_quantity(recording.meter_volts, "V"), AC, meter)
    return Known(measured.number, measured.u)
