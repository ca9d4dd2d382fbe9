"""The range a good build reads in, with the stop limits past which one switches off."""

import math
import re
from dataclasses import dataclass, replace
from functools import cached_property

from checks.errors import CallerError, ChecksError
from checks.quantity import parse_quantity

OPEN_WORDS = ("open", "not connected")
GUARD = (
    1e-9  # of a limit, by which a value may lie beyond it and count as on it: what binary fractions make of decimals
)
OPEN_OHMS = 1e6  # from which points count as not connected (common practice)


@dataclass(frozen=True)
class Band:
    """Limits in SI; None is no limit on that side. A stop limit lies outside the band.

    With an upper limit alone, above zero, the size of the reading counts: -3 V is not "at most 0.1 V". `is_open` marks
    a pair of points that must not be connected: over range is what is hoped for.
    """

    low: float | None
    high: float | None
    expected: float | None = None
    stop_below: float | None = None
    stop_above: float | None = None
    is_open: bool = False

    def __post_init__(self):
        for name in ("low", "high", "expected", "stop_below", "stop_above"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise CallerError(f"The band's {name.replace('_', ' ')} must be a finite number.", argument=name)
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ChecksError(
                f"The band's low {self.low:g} lies above its high {self.high:g}.",
                argument="low",
                code="upside-down",
                low=self.low,
                high=self.high,
            )
        self._refuse_expected_outside()
        self._refuse_stop_inside()

    def _refuse_expected_outside(self):
        if self.expected is not None and not self.contains(self.expected):
            raise ChecksError(
                f"The expected value {self.expected:g} lies outside its own band.",
                argument="expected",
                code="outside",
                expected=self.expected,
            )

    def _refuse_stop_inside(self):
        edge_high = max((v for v in (self.low, self.high, self.expected) if v is not None), default=None)
        edge_low = min((v for v in (self.low, self.high, self.expected) if v is not None), default=None)
        if self.stop_above is not None and edge_high is not None and self.stop_above <= edge_high:
            raise ChecksError(
                f"The stop limit above, {self.stop_above:g}, lies inside the band, which ends at {edge_high:g}.",
                argument="stop_above",
                code="stop-inside",
                limit=self.stop_above,
                end=edge_high,
                above=True,
            )
        if self.stop_below is not None and edge_low is not None and self.stop_below >= edge_low:
            raise ChecksError(
                f"The stop limit below, {self.stop_below:g}, lies inside the band, which begins at {edge_low:g}.",
                argument="stop_below",
                code="stop-inside",
                limit=self.stop_below,
                end=edge_low,
                above=False,
            )

    @cached_property
    def by_size(self) -> bool:
        """True when the sign of a reading does not matter: an upper limit alone, above zero."""
        return self.low is None and self.high is not None and self.high > 0

    def contains(self, value: float) -> bool:
        value = abs(value) if self.by_size else value
        return (self.low is None or value >= self.low - GUARD * abs(self.low)) and (
            self.high is None or value <= self.high + GUARD * abs(self.high)
        )

    def stops(self, value: float) -> bool:
        """Is this past a stop limit? With the probes the wrong way round too, where no good reading lies there."""
        return (
            self.is_swapped_stop(value)
            or (self.stop_above is not None and value > self.stop_above)
            or (self.stop_below is not None and value < self.stop_below)
        )

    def is_swapped_stop(self, value: float) -> bool:
        """Past the stop limit with the probes swapped, where no good reading lies that far across zero."""
        if self.is_swapped_stop_below(value):
            return True
        if self.stop_above is None or self.stop_above <= 0 or value >= -self.stop_above:
            return False
        if self.low is not None:
            return self.low >= -self.stop_above
        return self.high is None or self.high > 0

    def is_swapped_stop_below(self, value: float) -> bool:
        """The same of a negative supply, whose lower limit is the one that counts: +90 V where -80 V are the most. And
        of a point about zero that has no upper limit of its own: +300 V where -50 V are the most."""
        if self.stop_below is None or self.high is None or value <= -self.stop_below:
            return False
        if self.high >= 0:
            return self.stop_above is None and not (self.low or 0.0) > 0 and self.high <= -self.stop_below
        return self.stop_above is None or value <= self.stop_above

    @property
    def half_width(self) -> float | None:
        return None if self.low is None or self.high is None else (self.high - self.low) / 2

    def scaled(self, factor: float, exponent: float, spread: float = 0.0, fall: float = 0.0) -> "Band":
        """The band at another line voltage, widened by the shares by which the line may lie above (`spread`) and below
        (`fall`).

        Stop limits stay: parts fail at volts, not at ratios. Where the scaled band would reach past a stop limit, it is
        cut off just short of it.
        """
        if not (math.isfinite(exponent) and 0 < factor < math.inf and 0 <= spread < math.inf and 0 <= fall < 1):
            raise CallerError("A band is scaled by a factor above zero, and shares of zero or more.", argument="factor")
        if not exponent or (factor == 1 and not spread and not fall):
            return self
        ends = sorted(((factor * (1 + spread)) ** exponent, (factor * (1 - fall)) ** exponent))
        moved = {
            "low": self.low and self.low * ends[self.low < 0],
            "high": self.high and self.high * ends[self.high > 0],
            "expected": self.expected and self.expected * factor**exponent,
        }
        return replace(self, **_keep_inside_stops(moved, self.stop_below, self.stop_above))

    def deviation(self, value: float) -> float:
        """Signed distance in half-widths: 0 at the centre, ±1 at the limits.

        A one-sided band counts its limit as ±1 and a zero distance as 0: deviation is value/limit against an upper
        limit, -limit/value against a lower one. Always finite, within ±99.
        """
        low, high, half = self.low, self.high, self.half_width
        if low is None or high is None or half is None:
            raw = self._deviation_from_one_limit(value)
        elif half:
            raw = (value - (low + high) / 2) / half
        else:
            raw = 0.0 if value == low else math.copysign(99, value - low)
        return max(-99.0, min(99.0, raw))

    def _deviation_from_one_limit(self, value: float) -> float:
        if self.high is not None:
            value = abs(value) if self.by_size else value
            return value / self.high if self.high else (0.0 if value <= 0 else 99.0)
        if self.low is not None:
            return -(self.low / value if value > 0 else 99.0) if self.low else (0.0 if value >= 0 else -99.0)
        return 0.0


def _keep_inside_stops(moved: dict, stop_below: float | None, stop_above: float | None) -> dict:
    for key, value in moved.items():
        if value is not None and stop_above is not None and value >= stop_above:
            moved[key] = stop_above * (1 - 1e-6) if stop_above > 0 else stop_above * (1 + 1e-6) - 1e-9
        if value is not None and stop_below is not None and value <= stop_below:
            moved[key] = stop_below * (1 + 1e-6) if stop_below > 0 else stop_below * (1 - 1e-6) + 1e-9
    return moved


def parse_band(
    *,
    unit: str,
    expected: str = "",
    band: str = "",
    low: str = "",
    high: str = "",
    at_least: str = "",
    at_most: str = "",
    stop_above: str = "",
    stop_below: str = "",
) -> Band:
    """A band from a guide's figures. Raises ChecksError naming the figure that is wrong or missing.

    One way of saying it: `expected` with `band` ("8%" or "5 V", either side); `low` and `high`; `at_least`; `at_most`;
    or `expected` "open" for points that must not be connected, with `at_least` if 1 MΩ is not the right limit.
    """
    if expected.strip().lower() in OPEN_WORDS:
        return _parse_open(unit, at_least, band or low or high or at_most or stop_above or stop_below)
    value = _figure("expected", expected, unit)
    ways = [
        name
        for name, figure in (("band", band), ("low", low or high), ("at_least", at_least), ("at_most", at_most))
        if figure
    ]
    if len(ways) != 1:
        raise ChecksError(
            "Say the band in one way: a ± about the expected value, low and high, at least, or at most.",
            argument=ways[1] if ways else "band",
            code="ways",
            pair=False,
        )
    limits: tuple[float | None, float | None]
    if ways == ["band"]:
        limits = _limits_about(value, band, unit)
    elif ways == ["low"]:
        if not (low and high):
            raise ChecksError("Low and high go together.", argument="high" if low else "low", code="ways", pair=True)
        limits = _figure("low", low, unit), _figure("high", high, unit)
    else:
        limits = _figure("at_least", at_least, unit), _figure("at_most", at_most, unit)
    return Band(*limits, value, _figure("stop_below", stop_below, unit), _figure("stop_above", stop_above, unit))


def _parse_open(unit: str, at_least: str, others: str) -> Band:
    if unit != "Ω":
        raise ChecksError("Open is for ohms.", argument="expected", code="open", alone=False)
    if others:
        raise ChecksError("Open takes at least, and no other figure.", argument="at_least", code="open", alone=True)
    return Band(_figure("at_least", at_least, unit) or OPEN_OHMS, None, is_open=True)


def _figure(name: str, text: str, unit: str) -> float | None:
    """A figure that may be left out."""
    return _required_figure(name, text, unit) if str(text).strip() else None


def _required_figure(name: str, text: str, unit: str) -> float:
    try:
        value = parse_quantity(text, unit).value
    except ChecksError as error:
        raise ChecksError(str(error), argument=name, code=error.code, **error.params) from error
    if value is None:
        raise ChecksError("A figure of the guide cannot be over range; use “at least”.", argument=name, code="over")
    return value


def _limits_about(value: float | None, band: str, unit: str) -> tuple[float, float]:
    if value is None:
        raise ChecksError("A ± band needs an expected value to stand about.", argument="expected", code="missing")
    if match := re.fullmatch(r"\s*±?\s*(\d+(?:[.,]\d+)?)\s*%\s*", band):
        half = abs(value) * float(match[1].replace(",", ".")) / 100
        if not half:
            raise ChecksError(
                "A share of zero is a band of no width: give it as an amount, such as 50 mV.",
                argument="band",
                code="no-width",
            )
    else:
        half = abs(_required_figure("band", band.replace("±", ""), unit))
    return value - half, value + half
