"""From a measurement and a band to a verdict, by the probability that the true value is in band (JCGM 106:2012)."""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import ndtr

from checks.band import Band
from checks.errors import ChecksError
from checks.mains import Line
from checks.meter import Measurement
from checks.quantity import format_quantity

IN_AT = 0.95  # at least this probability of conformance: in band (ISO 14253-1:2017's default)
OUT_AT = 0.05  # at most this: not conforming, where a value may lie out by less than its uncertainty (parts, limits)


class Outcome(StrEnum):
    IN_BAND = "in band"
    TOO_CLOSE = "too close to call"
    OUT_OF_BAND = "out of band"
    SWITCH_OFF = "switch off"


@dataclass(frozen=True)
class Verdict:
    """What a reading means. `band` is the band at this builder's line, `u` includes the line's uncertainty.

    `confirms`: a second reading like this one, too close to call again, may pass.
    """

    outcome: Outcome
    probability: float | None
    deviation: float
    side: str
    value: float | None
    u: float
    band: Band
    words: str
    confirms: bool = False


def conformance(value, u, low, high, by_size=False):
    """P(low <= true <= high) for a normal measurement distribution. Arrays or floats; ±inf for no limit; u may be 0.

    `by_size`: the size of the reading counts, which is never below zero, so that what is known of it is the normal
    distribution cut off there (JCGM 106:2012, 6.2: prior knowledge). Raises ChecksError for an uncertainty below zero.
    """
    value, u, low, high = (np.asarray(x, dtype=float) for x in (value, u, low, high))
    if not (np.isfinite(u).all() and (u >= 0).all() and np.isfinite(value).all()):
        raise ChecksError("A value is finite, and its uncertainty zero or more.", argument="u")
    if np.isnan(low).any() or np.isnan(high).any():
        raise ChecksError("A limit is a number.", argument="low")
    value = np.where(by_size, np.abs(value), value)
    # A zero u is made so small that the normal curve becomes a step; on the limit itself counts as in.
    small = np.maximum(u, np.maximum(np.abs(value), 1e-9) * 1e-12)
    p = ndtr((high - value) / small) - ndtr((low - value) / small)
    cut = ndtr(value / small)
    p = np.where(by_size, (p - (1 - cut) * np.isneginf(low)) / np.maximum(cut, 0.5), p)
    return np.where(u == 0, ((value >= low) & (value <= high)).astype(float), np.clip(p, 0.0, 1.0))


def judge(
    measurement: Measurement, band: Band, *, line: Line | None = None, exponent: float = 0.0, unit: str = "V"
) -> Verdict:
    """Judge one reading. `band` holds at the guide's mains; it is moved to this line here.

    Out of band is what lies out as it reads, corrected for the meter's load; no uncertainty excuses it. In band is what
    lies in with 95 % probability; the rest is too close to call. Stop limits are judged on the raw value and on the
    corrected one: either stops. An over-range reading passes only for ohms without an upper limit.
    """
    if not (math.isfinite(exponent) and abs(exponent) <= 10):
        raise ChecksError("A mains exponent is a finite number.", argument="exponent")
    here = band.scaled(line.factor, exponent, line.spread, line.fall) if line else band
    if measurement.over_range:
        return _over_range(here, unit, measurement.is_below)
    value = measurement.value
    raw = value if measurement.raw is None else measurement.raw
    u = math.hypot(measurement.u, abs(value) * abs(exponent) * line.u) if line and exponent else measurement.u
    side = _side(value, here)
    past = next((v for v in (raw, value) if here.stops(v)), None)
    if past is not None:
        words = _stop_words(past, here, unit)
        return Verdict(Outcome.SWITCH_OFF, None, here.deviation(value), side, value, u, here, words)
    p = float(conformance(value, u, *_limits(here), here.by_size))
    outcome = _outcome(value, p, here, unit)
    confirms = outcome is Outcome.IN_BAND or (outcome is Outcome.TOO_CLOSE and _digits_suffice(measurement, here))
    words = _words(outcome, value, u, here, unit, _most_of(measurement, u), confirms)
    return Verdict(outcome, p, here.deviation(value), side, value, u, here, words, confirms)


def _limits(band: Band) -> tuple[float, float]:
    return -math.inf if band.low is None else band.low, math.inf if band.high is None else band.high


def _outcome(value: float, p: float, band: Band, unit: str) -> Outcome:
    if not band.contains(value) or (unit == "Ω" and value < 0):  # an ohmmeter below zero sees a voltage
        return Outcome.OUT_OF_BAND
    return Outcome.IN_BAND if p >= IN_AT else Outcome.TOO_CLOSE


def _digits_suffice(measurement: Measurement, band: Band) -> bool:
    """Whatever was rounded off, is the value in band, or out of it by less than the meter's per cent anyway?"""
    half = measurement.step / 2
    if half <= measurement.share:
        return True
    return band.contains(measurement.value - half) and band.contains(measurement.value + half)


def _most_of(measurement: Measurement, u: float) -> str:
    """What makes the uncertainty larger than the meter's per cent, where one thing makes most of it; else nothing."""
    if measurement.counts / math.sqrt(3) > 0.7 * u > 0:
        return "; most of that is its last digits, so type every digit it shows"
    return "; most of that is its own load on this point" if abs(measurement.loading) / 5 > 0.7 * u > 0 else ""


def _side(value: float, band: Band) -> str:
    if band.high is not None and (band.low is None or value > (band.low + band.high) / 2):
        return "high"
    return "low" if band.low is not None else ""


def _over_range(band: Band, unit: str, is_below: bool = False) -> Verdict:
    if is_below:
        return _below_range(band, unit)
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
    if band.high is None and unit == "Ω":
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
        "Over range: more than the meter can show on this range. "
        + ("An open circuit, or the wrong range. " if unit == "Ω" else "")
        + "Check the meter's range and the probe points, then measure again.",
    )


def _below_range(band: Band, unit: str) -> Verdict:
    """ "-OL": the probes the wrong way round, or far below what is wanted. Never a pass."""
    if band.stop_below is not None or band.is_swapped_stop(-math.inf):
        limit = format_quantity(band.stop_above if band.stop_below is None else band.stop_below, unit)
        words = (
            f"Your meter is over range below zero, and past {limit} this kit must be off. Switch off and pull the plug."
        )
        return Verdict(Outcome.SWITCH_OFF, None, -99.0, "low", None, 0.0, band, words)
    words = "Over range below zero. Are the probes the right way round? Choose a higher range and measure again."
    return Verdict(Outcome.OUT_OF_BAND, None, -99.0, "low", None, 0.0, band, words)


def _stop_words(value: float, band: Band, unit: str) -> str:
    if band.is_swapped_stop(value):
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


def _words(outcome, value, u, band, unit, why="", confirms=True) -> str:
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
            "a better range if there is one; "
            + (
                "a second reading inside the limits passes."
                if confirms
                else "type every digit the meter shows: without them it cannot pass."
            )
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
