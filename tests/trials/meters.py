"""Digital meters as builders own them: what they load, how far they are off, and what they show."""

import math
from dataclasses import dataclass

# name: counts, input ohms, (percent, digits) for dc volts, ac volts, ohms; highest ohms. Common practice.
TYPES = {
    "handheld": (6000, 10e6, (0.5, 2), (1.0, 3), (0.8, 2), 60e6),
    "basic": (2000, 10e6, (0.8, 2), (1.2, 5), (1.0, 3), 20e6),
    "small": (2000, 1e6, (1.0, 2), (1.5, 5), (1.2, 3), 2e6),
    "bench": (60000, 10e6, (0.05, 4), (0.5, 20), (0.2, 4), 60e6),
}
SHARES = {"handheld": 0.5, "basic": 0.3, "small": 0.1, "bench": 0.1}
VOLTS_TOP = 1000.0


@dataclass(frozen=True)
class Meter:
    """One meter with its own errors of gain; `test_volts` is what it puts on an open pair of probes to measure ohms."""

    name: str
    gains: dict
    test_volts: float

    @property
    def input_ohms(self) -> float:
        return TYPES[self.name][1]

    def shows(self, value: float, what: str, rng) -> float | None:
        """The figure on the display; None for over range."""
        counts, _input, dc, ac, ohms, most = TYPES[self.name]
        digits = {"dc": dc, "ac": ac, "ohms": ohms}[what][1]
        top = most if what == "ohms" else VOLTS_TOP
        value = value * (1 + self.gains[what])
        if not math.isfinite(value) or abs(value) > top:
            return None
        unit = unit_of(value, counts, 0.1 if what == "ohms" and counts < 50000 else 1e-4 if what != "ohms" else 0.01)
        shown = round(value / unit + rng.uniform(-0.4, 0.4) * digits)
        return float(f"{(shown if what == 'dc' else abs(shown)) * unit:.10g}")


def unit_of(value: float, counts: int, least: float) -> float:
    """What the last digit is worth in the smallest range that holds the value."""
    unit = least
    while abs(value) >= counts * unit:
        unit *= 10
    return unit


def draw_meter(rng) -> Meter:
    name = str(rng.choice(list(SHARES), p=list(SHARES.values())))
    _counts, _input, dc, ac, ohms, _most = TYPES[name]
    gains = {k: float(rng.uniform(-0.7, 0.7) * spec[0] / 100) for k, spec in (("dc", dc), ("ac", ac), ("ohms", ohms))}
    return Meter(name, gains, float(rng.choice([0.4, 0.7, 1.2, 2.5])))


EXACT = Meter("bench", {"dc": 0.0, "ac": 0.0, "ohms": 0.0}, 0.4)
