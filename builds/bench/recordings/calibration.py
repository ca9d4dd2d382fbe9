"""Volts of a recording: from the meter's reading while the tone played, kept for later ones at the same level.

A wrong decimal place or range (0.283 V for 2.83 V) would let ten times the hum pass. So a reading that lies whole
powers of ten from what the recordings before it say, or from what the guide expects of this output, sets no scale until
a second recording agrees with it: dividers and input levels do change, and an output may be that weak.
"""

import math

from builds.bench.models import Recording
from builds.bench.recordings.plans import as_table, list_wanted_signals, plan_from
from builds.guides.figures import band_for
from checks.derived import Estimate
from checks.errors import ChecksError
from checks.meter import PRESETS, measure
from checks.quantity import parse_quantity
from checks.tone.analysis import Analysis
from checks.tone.card import volts_per_unit
from checks.tone.sources import SignalPlan

AC = "ac volts"
SAME = 0.15  # of a decade (a factor of 1.4), within which two figures are the same but for a power of ten
MOST_DOUBT = 0.05  # share by which a meter may be off at the tone's frequency and still set the scale of recordings


def find_calibration(recording: Recording, channel: Analysis) -> Estimate | None:
    """Volts of full scale: by this recording's own meter reading, else by the build's latest; None where there is none.

    A reading that cannot be used calibrates nothing, and none before it stands in: its level may have been another.
    """
    if recording.meter_volts and _is_read_well(recording):
        scale = _own_scale(recording, channel)
        return None if scale is None or is_decades_off(recording, scale.value) else scale
    return latest_calibration(recording)


def is_doubted(recording: Recording, channel: Analysis) -> bool:
    """Was the meter's reading left out as a likely slip of the decimal point?"""
    scale = _own_scale(recording, channel) if _is_read_well(recording) else None
    return scale is not None and is_decades_off(recording, scale.value)


def _own_scale(recording: Recording, channel: Analysis) -> Estimate | None:
    if channel.distortion is None or not channel.is_usable:
        return None
    try:
        return volts_per_unit(_meter_reading(recording), channel.distortion.fundamental.rms)
    except ChecksError:
        return None


def latest_calibration(recording: Recording) -> Estimate | None:
    earlier = (
        Recording.objects.filter(build=recording.build_id, state=Recording.State.ANALYSED, scale__isnull=False)
        .exclude(meter_volts="")
        .filter(at__lte=recording.at)
        .first()
    )
    if earlier is None or earlier.scale is None or earlier.scale_u is None:
        return None
    return Estimate(earlier.scale, earlier.scale_u)


def is_decades_off(recording: Recording, scale: float) -> bool:
    """Does a scale, in volts of full scale, look like a slip of the decimal point that nothing has confirmed?"""
    trusted = latest_calibration(recording)
    is_off = trusted is not None and _are_decades_apart(scale, trusted.value)
    is_off = is_off or any(_are_decades_apart(_meter_reading(recording).value, v) for v in _expected_volts(recording))
    last = _last_scale(recording)
    return is_off and not (last and abs(math.log10(scale / last)) < SAME)


def _are_decades_apart(one: float, other: float) -> bool:
    """Are two figures a whole power of ten apart, within what meters and builds scatter?"""
    decades = math.log10(one / other)
    return round(decades) != 0 and abs(decades - round(decades)) < SAME


def _expected_volts(recording: Recording) -> list[float]:
    """What the guide expects of the output that the meter was read at."""
    signals = list_wanted_signals(recording.stage) if recording.stage else []
    checks = [check for w in signals if as_table(w.plan) == recording.plan for check, _request in w.checks]
    bands = [band_for(check) for check in checks if check.measure == "output volts"]
    return [band.expected for band in bands if band and band.expected]


def _last_scale(recording: Recording) -> float | None:
    """The scale that the meter's reading of the latest recording before this one gives, whether it was taken or not."""
    rows = Recording.objects.filter(build=recording.build_id, state=Recording.State.ANALYSED, at__lte=recording.at)
    last = rows.exclude(meter_volts="").exclude(pk=recording.pk).first()
    if last is None or not last.results or not last.results[0]["is_usable"] or "tone" not in last.results[0]:
        return None
    tone = last.results[0]["tone"]
    unit = tone["rms"] / (last.scale if last.results[0]["in_volts"] else 1.0)
    return _meter_reading(last).value / unit if unit > 0 else None


def meter_at_tone(build, plan: SignalPlan) -> float:
    """The share by which the build's meter may be off at the frequency of a tone."""
    return _find_meter(build).frequency_doubt(plan.exact_hertz[0])


def _is_read_well(recording: Recording) -> bool:
    return meter_at_tone(recording.build, plan_from(recording.plan)) <= MOST_DOUBT


def _find_meter(build):
    return build.meter.as_spec() if build.meter else PRESETS["basic"]


def _meter_reading(recording: Recording) -> Estimate:
    hertz = plan_from(recording.plan).exact_hertz[0]
    measured = measure(parse_quantity(recording.meter_volts, "V"), AC, _find_meter(recording.build), hertz=hertz)
    return Estimate(measured.number, measured.u)
