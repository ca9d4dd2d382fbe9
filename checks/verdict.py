"""From a measurement and a band to a verdict, by the probability that the true value is in band (JCGM 106:2012)."""

import math
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.special import ndtr

from checks.band import Band
from checks.errors import CallerError
from checks.finite import refuse_unreal
from checks.mains import Line
from checks.meter import Measurement
from checks.outcomes import Outcome, Reason

IN_AT = 0.95  # at least this probability of conformance: in band (ISO 14253-1:2017's default)
OUT_AT = 0.05  # at most this: not conforming, where a value may lie out by less than its uncertainty (parts, limits)
MOST = 0.7  # of the uncertainty, from which one thing makes most of it
FAR = 99.0  # half-widths: as far as a deviation goes


@dataclass(frozen=True)
class Verdict:
    """What a reading means. `band` is the band at this builder's line, `u` includes the line's uncertainty.

    `limit` is the one the reason is about, `shown` the value that passed it. `confirms`: a second reading like this
    one, too close to call again, may pass.
    """

    outcome: Outcome
    probability: float | None
    deviation: float
    side: str
    value: float | None
    u: float
    band: Band
    reason: Reason
    limit: float | None = None
    shown: float | None = None
    confirms: bool = False

    def __post_init__(self):
        refuse_unreal(self, "deviation", "value", "limit", "shown")
        refuse_unreal(self, "u", "probability", least=0)

    @property
    def params(self) -> dict:
        """What the sentence is made from, as a reading's row keeps it."""
        return {"value": self.value if self.shown is None else self.shown, "limit": self.limit, "u": self.u}


def conformance(value, u, low, high, by_size=False):
    """P(low <= true <= high) for a normal measurement distribution. Arrays or floats; ±inf for no limit; u may be 0.

    `by_size`: the size of the reading counts, which is never below zero, so that what is known of it is the normal
    distribution cut off there (JCGM 106:2012, 6.2: prior knowledge). Raises ChecksError for an uncertainty below zero.
    """
    value, u, low, high = (
        np.asarray(value, float),
        np.asarray(u, float),
        np.asarray(low, float),
        np.asarray(high, float),
    )
    if not (np.isfinite(u).all() and (u >= 0).all() and np.isfinite(value).all()):
        raise CallerError("A value is finite, and its uncertainty zero or more.", argument="u")
    if np.isnan(low).any() or np.isnan(high).any():
        raise CallerError("A limit is a number.", argument="low")
    value = np.where(by_size, np.abs(value), value)
    # A zero u is made so small that the normal curve becomes a step; on the limit itself counts as in.
    small = np.maximum(u, np.maximum(np.abs(value), 1e-9) * 1e-12)
    p = ndtr((high - value) / small) - ndtr((low - value) / small)
    cut = ndtr(value / small)
    p = np.where(by_size, (p - (1 - cut) * np.isneginf(low)) / np.maximum(cut, 0.5), p)
    return np.where(u == 0, ((value >= low) & (value <= high)).astype(float), np.clip(p, 0.0, 1.0))


def conformance_of_one(value: float, u: float, low: float, high: float, by_size: bool = False) -> float:
    """`conformance` of a single reading, the same figure some ten times sooner: a phone's tables ask for thousands."""
    if not (math.isfinite(u) and u >= 0 and math.isfinite(value)):
        raise CallerError("A value is finite, and its uncertainty zero or more.", argument="u")
    if math.isnan(low) or math.isnan(high):
        raise CallerError("A limit is a number.", argument="low")
    value = abs(value) if by_size else value
    if u == 0:
        return float(low <= value <= high)
    small = max(u, max(abs(value), 1e-9) * 1e-12)
    p = float(ndtr((high - value) / small) - ndtr((low - value) / small))
    if by_size:
        cut = float(ndtr(value / small))
        p = (p - (1 - cut) * (low == -math.inf)) / max(cut, 0.5)
    return min(max(p, 0.0), 1.0)


def judge(
    measurement: Measurement, band: Band, *, line: Line | None = None, exponent: float = 0.0, unit: str = "V"
) -> Verdict:
    """Judge one reading. `band` holds at the guide's mains; it is moved to this line here."""
    if not math.isfinite(exponent):
        raise CallerError("A mains exponent is a finite number.", argument="exponent")
    if line is None:
        return judge_at_line(measurement, band, unit=unit)
    moved = band.scaled(line.factor, exponent, line.spread, line.fall)
    return judge_at_line(measurement, moved, unit=unit, line_share=abs(exponent) * line.u)


def judge_at_line(measurement: Measurement, band: Band, *, unit: str = "V", line_share: float = 0.0) -> Verdict:
    """Judge one reading against the band at this builder's line; `line_share` is the relative standard uncertainty that
    the line adds.

    Out of band is what lies out as it reads, corrected for the meter's load; no uncertainty excuses it. In band is what
    lies in with 95 % probability; the rest is too close to call. Stop limits are judged on the raw value and on the
    corrected one: either stops. An over-range reading passes only for ohms without an upper limit.
    """
    if not 0 <= line_share < 1:
        raise CallerError("A line's uncertainty is a share, zero or more.", argument="line_share")
    if measurement.over_range:
        return _judge_below_range(band) if measurement.is_below else _judge_over_range(band, unit)
    value = measurement.number
    raw = value if measurement.raw is None else measurement.raw
    u = math.hypot(measurement.u, abs(value) * line_share)
    verdict = partial(
        Verdict, deviation=band.deviation(value), side=_find_side(value, band), value=value, u=u, band=band
    )
    past = raw if band.stops(raw) else value if raw != value and band.stops(value) else None
    if past is not None:
        reason, limit = _find_stop_limit(past, band)
        return verdict(Outcome.SWITCH_OFF, None, reason=reason, limit=limit, shown=past)
    p = conformance_of_one(value, u, *_limits(band), band.by_size)
    outcome = _decide_outcome(value, measurement, p, band, unit)
    reason = _find_reason(outcome, measurement, u, band)
    doubted = measurement.lightest if reason is Reason.CLOSE_BY_RANGE else value
    limit = None if outcome is Outcome.IN_BAND or doubted is None else nearer_limit(doubted, band)
    is_light = abs(measurement.loading) <= abs(raw)
    confirms = outcome is Outcome.IN_BAND or (
        outcome is Outcome.TOO_CLOSE
        and is_light
        and _any_range_suffices(measurement, band)
        and _digits_suffice(measurement, band)
        and (not measurement.beyond or _frequency_suffices(measurement, band))
    )
    return verdict(outcome, p, reason=reason, limit=limit, confirms=confirms)


def _limits(band: Band) -> tuple[float, float]:
    return -math.inf if band.low is None else band.low, math.inf if band.high is None else band.high


def _decide_outcome(value: float, measurement: Measurement, p: float, band: Band, unit: str) -> Outcome:
    if not band.contains(value) or (unit == "Ω" and value < 0):  # an ohmmeter below zero sees a voltage
        return Outcome.OUT_OF_BAND
    is_sure = p >= IN_AT and (measurement.lightest is None or _any_range_suffices(measurement, band))
    return Outcome.IN_BAND if is_sure else Outcome.TOO_CLOSE


def _digits_suffice(measurement: Measurement, band: Band) -> bool:
    """Whatever was rounded off, is the value in band, or out of it by less than the meter's per cent anyway?"""
    half = measurement.step / 2
    if half <= measurement.share:
        return True
    return band.contains(measurement.number - half) and band.contains(measurement.number + half)


def _any_range_suffices(measurement: Measurement, band: Band) -> bool:
    """Is the value in band on whichever range of the meter it was read? A second reading is made on the same one."""
    return measurement.lightest is None or band.contains(measurement.lightest)


def _frequency_suffices(measurement: Measurement, band: Band) -> bool:
    """Whatever the meter loses at this frequency, is the value in band? It loses the same a second time."""
    value, beyond = measurement.number, measurement.beyond
    return band.contains(value - beyond) and band.contains(value + beyond)


def _find_reason(outcome: Outcome, measurement: Measurement, u: float, band: Band) -> Reason:
    if outcome is Outcome.IN_BAND:
        return Reason.NO_FIGURE if band.low is None and band.high is None else Reason.WITHIN
    if outcome is Outcome.TOO_CLOSE and not _any_range_suffices(measurement, band):
        return Reason.CLOSE_BY_RANGE
    if outcome is Outcome.TOO_CLOSE:
        return Reason.HARDLY_CONNECTED if band.is_open else _explain_closeness(measurement, u)
    if band.is_open:
        return Reason.CONNECTED
    return Reason.HIGH if nearer_limit(measurement.number, band) == band.high else Reason.LOW


def _explain_closeness(measurement: Measurement, u: float) -> Reason:
    """What makes the uncertainty larger than the meter's per cent, where one thing makes most of it."""
    if measurement.counts / math.sqrt(3) > MOST * u > 0:
        return Reason.CLOSE_BY_DIGITS
    if measurement.beyond / math.sqrt(3) > MOST * u > 0:
        return Reason.CLOSE_BY_FREQUENCY
    return Reason.CLOSE_BY_LOAD if abs(measurement.loading) / 5 > MOST * u > 0 else Reason.CLOSE


def nearer_limit(value: float, band: Band) -> float | None:
    if not math.isfinite(value):
        raise CallerError("A value is finite.", argument="value")
    if band.high is None or band.low is None:
        return band.low if band.high is None else band.high
    return band.high if abs(value - band.high) <= abs(value - band.low) else band.low


def _find_side(value: float, band: Band) -> str:
    if band.high is not None and (band.low is None or value > (band.low + band.high) / 2):
        return "high"
    return "low" if band.low is not None else ""


def _find_stop_limit(value: float, band: Band) -> tuple[Reason, float | None]:
    if band.is_swapped_stop(value):
        return Reason.STOP_SWAPPED, band.stop_below if band.is_swapped_stop_below(value) else band.stop_above
    if band.stop_above is not None and value > band.stop_above:
        return Reason.STOP_ABOVE, band.stop_above
    return Reason.STOP_BELOW, band.stop_below


def _judge_over_range(band: Band, unit: str) -> Verdict:
    """ "OL": beyond what the meter can show."""
    if band.stop_above is not None:
        return _judge_without_value(Outcome.SWITCH_OFF, Reason.STOP_OVER_RANGE, FAR, band, band.stop_above)
    if band.stop_below is not None and band.is_swapped_stop_below(math.inf):
        return _judge_without_value(Outcome.SWITCH_OFF, Reason.STOP_OVER_RANGE, FAR, band, -band.stop_below)
    if band.high is None and unit == "Ω":
        reason = Reason.NOT_CONNECTED if band.is_open else Reason.OVER_RANGE_WANTED
        return _judge_without_value(Outcome.IN_BAND, reason, 0.0, band)
    return _judge_without_value(Outcome.OUT_OF_BAND, Reason.OVER_RANGE, FAR, band, band.high)


def _judge_below_range(band: Band) -> Verdict:
    """ "-OL": the probes the wrong way round, or far below what is wanted. Never a pass."""
    if band.stop_below is not None or band.is_swapped_stop(-math.inf):
        limit = band.stop_above if band.stop_below is None else band.stop_below
        return _judge_without_value(Outcome.SWITCH_OFF, Reason.STOP_BELOW_RANGE, -FAR, band, limit)
    return _judge_without_value(Outcome.OUT_OF_BAND, Reason.BELOW_RANGE, -FAR, band, band.low)


def _judge_without_value(
    outcome: Outcome, reason: Reason, deviation: float, band: Band, limit: float | None = None
) -> Verdict:
    side = "high" if deviation > 0 else "low" if deviation < 0 else ""
    return Verdict(outcome, None, deviation, side, None, 0.0, band, reason, limit, confirms=outcome is Outcome.IN_BAND)
