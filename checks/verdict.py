"""From a measurement and a band to a verdict, by the probability that the true value is in band (JCGM 106:2012)."""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import ndtr

from checks.band import Band
from checks.mains import Line
from checks.meter import Measurement
from checks.quantity import format_quantity

IN_AT = 0.95  # at least this probability of conformance: in band (ISO 14253-1:2017's default)
OUT_AT = 0.05  # at most this: out of band; between the two it is too close to call


class Outcome(StrEnum):
    IN_BAND = "in band"
    TOO_CLOSE = "too close to call"
    OUT_OF_BAND = "out of band"
    SWITCH_OFF = "switch off"


@dataclass(frozen=True)
class Verdict:
    """What a reading means. `band` is the band at this builder's line, `u` includes the line's uncertainty."""

    outcome: Outcome
    probability: float | None
    deviation: float
    side: str
    value: float | None
    u: float
    band: Band
    words: str


def conformance(value, u, low, high):
    """P(low <= true <= high) for a normal measurement distribution. Arrays or floats; ±inf for no limit; u may be 0."""
    value, u, low, high = (np.asarray(x, dtype=float) for x in (value, u, low, high))
    # A zero u is made so small that the normal curve becomes a step; on the limit itself counts as in.
    small = np.maximum(u, np.maximum(np.abs(value), 1e-9) * 1e-12)
    p = ndtr((high - value) / small) - ndtr((low - value) / small)
    return np.where(u == 0, ((value >= low) & (value <= high)).astype(float), np.clip(p, 0.0, 1.0))


def judge(
    measurement: Measurement, band: Band, *, line: Line | None = None, exponent: float = 0.0, unit: str = "V"
) -> Verdict:
    """Judge one reading. `band` holds at the guide's mains; it is moved to this line here.

    Stop limits are judged on the raw value first. An over-range reading is a censored value: beyond the range, so it
    passes only a band without an upper limit, and stops where there is a stop limit above.
    """
    here = band.scaled(line.factor, exponent, line.spread) if line else band
    if measurement.over_range:
        return _over_range(here, unit)
    raw = measurement.value if measurement.raw is None else measurement.raw
    value = measurement.value
    # A current is read as volts: its stop limits are in amps, so they are judged on the current.
    stop_value = raw if unit == "V" or raw == value else value
    u = math.hypot(measurement.u, abs(value) * abs(exponent) * line.u) if line and exponent else measurement.u
    side = _side(value, here)
    if _stops(stop_value, here):
        return Verdict(
            Outcome.SWITCH_OFF, None, here.deviation(value), side, value, u, here, _stop_words(stop_value, here, unit)
        )
    low = -math.inf if here.low is None else here.low
    high = math.inf if here.high is None else here.high
    p = float(conformance(abs(value) if here.by_size else value, u, low, high))
    outcome = Outcome.IN_BAND if p >= IN_AT else Outcome.OUT_OF_BAND if p <= OUT_AT else Outcome.TOO_CLOSE
    words = _words(outcome, value, u, here, unit, _most_of(measurement, u))
    return Verdict(outcome, p, here.deviation(value), side, value, u, here, words)


def _most_of(measurement: Measurement, u: float) -> str:
    """What makes the uncertainty larger than the meter's per cent, where one thing makes most of it; else nothing."""
    if measurement.counts / math.sqrt(3) > 0.7 * u > 0:
        return "; most of that is its last digits, so type every digit it shows"
    return "; most of that is its own load on this point" if abs(measurement.loading) / 5 > 0.7 * u > 0 else ""


def _stops(value: float, band: Band) -> bool:
    return (
        _swapped(value, band)
        or (band.stop_above is not None and value > band.stop_above)
        or (band.stop_below is not None and value < band.stop_below)
    )


def _swapped(value: float, band: Band) -> bool:
    """Past the stop limit with the probes the wrong way round, where no good reading lies that far below zero."""
    if band.stop_above is None or band.stop_above <= 0 or value >= -band.stop_above:
        return False
    if band.low is not None:
        return band.low >= -band.stop_above
    return band.high is None or band.high > 0


def _side(value: float, band: Band) -> str:
    if band.high is not None and (band.low is None or value > (band.low + band.high) / 2):
        return "high"
    return "low" if band.low is not None else ""


def _over_range(band: Band, unit: str) -> Verdict:
    if band.stop_above is not None:
        return Verdict(
            Outcome.SWITCH_OFF,
            None,
            99.0,
            "high",
            None,
            0.0,
            band,
            f"Your meter is over range, and past {format_quantity(band.stop_above, unit)} this kit must be off. "
            "Switch off and pull the plug.",
        )
    if band.is_open:
        return Verdict(Outcome.IN_BAND, None, 0.0, "", None, 0.0, band, "Not connected, as it should be. Go on.")
    if band.high is None:
        return Verdict(
            Outcome.IN_BAND,
            None,
            0.0,
            "",
            None,
            0.0,
            band,
            "Over range: more than the meter can show, and more is what is wanted here. Go on.",
        )
    return Verdict(
        Outcome.OUT_OF_BAND,
        None,
        99.0,
        "high",
        None,
        0.0,
        band,
        "Over range: more than the meter can show, where "
        f"{format_quantity(band.high, unit)} is the most. An open circuit, or the wrong range. Check the "
        "meter's range and the probe points, then measure again.",
    )


def _stop_words(value: float, band: Band, unit: str) -> str:
    if _swapped(value, band):
        return (
            f"{format_quantity(value, unit)} is past the stop limit of "
            f"{format_quantity(band.stop_above, unit)}, whichever way "
            "round the probes are. Switch off, pull the plug, and make it safe before anything else."
        )
    above = band.stop_above is not None and value > band.stop_above
    limit = band.stop_above if above else band.stop_below
    return (
        f"{format_quantity(value, unit)} is {'above' if above else 'below'} the stop limit of "
        f"{format_quantity(limit, unit)}. Switch off, pull the plug, and make it safe before anything else."
    )


def _words(outcome, value, u, band, unit, why="") -> str:
    shown, width = format_quantity(value, unit), format_quantity(2 * u, unit, 2)
    share = f" ({200 * u / abs(value):.2g} %)" if value else ""
    if outcome is Outcome.IN_BAND:
        return (
            "This is right. Go on."
            if (band.low, band.high) != (None, None)
            else ("Noted. The guide has no figure here yet, and your reading helps to make one.")
        )
    if band.is_open:
        return _joined_words(outcome, shown, band, unit)
    above = _beyond(value, band)
    limit = format_quantity(band.high if above else band.low, unit)
    if outcome is Outcome.TOO_CLOSE:
        return (
            f"Your meter's ±{width}{share} can't tell {shown} from the limit {limit}{why}. Measure again, on "
            f"a better range if "
            "there is one; a second reading that is no worse passes."
        )
    return (
        f"This is too {'high' if above else 'low'}: {shown}, where {limit} is the {'most' if above else 'least'}. "
        "Check the probe points and the meter's range first, then look below."
    )


def _joined_words(outcome, shown, band, unit) -> str:
    least = format_quantity(band.low, unit)
    if outcome is Outcome.TOO_CLOSE:
        return (
            f"{shown}, and {least} counts as not connected: too close to tell. Take your fingers off "
            f"the probes and read again."
        )
    return (
        f"These points are connected through {shown}, and must not be: {least} at the least. Look for a "
        f"bridge of solder, a "
        "stray strand or a part in the wrong holes."
    )


def _beyond(value: float, band: Band) -> bool:
    """Is the upper limit the nearer one?"""
    if band.high is None or band.low is None:
        return band.high is not None
    return abs(value - band.high) <= abs(value - band.low)


def judge_many(values, u, low, high, stop_below, stop_above):
    """Judge arrays at once (shape (n,), SI; NaN value = over range; ±inf = no limit).

    Returns (codes, probability): codes 0 in band, 1 too close, 2 out of band, 3 switch off.
    """
    values = np.asarray(values, dtype=float)
    over = np.isnan(values)
    by_size = np.isneginf(np.asarray(low, float)) & (np.asarray(high, float) > 0) & np.isfinite(np.asarray(high, float))
    p = conformance(np.where(over, 0.0, np.where(by_size, np.abs(values), values)), u, low, high)
    high, stop_above = np.asarray(high, float), np.asarray(stop_above, float)
    p = np.where(over, np.isposinf(high).astype(float), p)
    codes = np.where(p >= IN_AT, 0, np.where(p <= OUT_AT, 2, 1))
    low = np.asarray(low, float)
    swapped = (stop_above > 0) & (values < -stop_above) & np.where(np.isneginf(low), high > 0, low >= -stop_above)
    stops = np.where(
        over, np.isfinite(stop_above), swapped | (values > stop_above) | (values < np.asarray(stop_below, float))
    )
    return np.where(stops, 3, codes), p
