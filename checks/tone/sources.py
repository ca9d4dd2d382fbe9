"""Test signals made for a kit: tones, a two-tone, stepped levels and a logarithmic sweep with its inverse.

Tones make whole turns in 65,536 samples (at 48 kHz) and keep off the mains lines; silence and fades frame each signal.
The sweep is Farina's ("Simultaneous measurement of impulse response and distortion with a swept-sine technique", 2000).
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from checks.errors import ChecksError
from checks.finite import finite_arguments

COHERENT = 1 << 16  # samples in which a tone makes whole turns, at 48 kHz; as long in seconds at higher rates
LEAD, TAIL, FADE = 1.0, 0.5, 0.05  # seconds of silence before and after, and of fading
FULL = 0.891  # of full scale, -1 dB: room for what a converter's filter adds
CLEAR = 3.0  # hertz that low harmonics keep from mains lines
STEP_SECONDS = 1.5
TWO_LEVELS = (0.8, 0.2)  # of two tones, four to one (IEC 60268-3, modulation distortion)
RATES = (44_100, 48_000, 88_200, 96_000, 176_400, 192_000)


class Signal(StrEnum):
    """What a recording is of."""

    TONE = "tone"
    STEPS = "stepped level"
    SILENCE = "silence"
    TWO_TONE = "two-tone"
    SWEEP = "sweep"


@dataclass(frozen=True)
class SignalPlan:
    """A test signal. `hertz` holds one nominal frequency of a tone or of steps, two of a two-tone (the first four times
    the second), the ends of a sweep, and none of silence; `seconds` is its length without silence before and after."""

    signal: Signal
    rate: int = 48_000
    hertz: tuple[float, ...] = (1000.0,)
    seconds: float = 10.0
    levels: tuple[float, ...] = ()  # dB of each step re full level

    def __post_init__(self):
        tone_counts = {Signal.TONE: 1, Signal.STEPS: 1, Signal.SILENCE: 0, Signal.TWO_TONE: 2, Signal.SWEEP: 2}
        if self.rate not in RATES:
            raise ChecksError("There is no such sample rate.", argument="rate", code="rate", rates=RATES)
        if len(self.hertz) != tone_counts[self.signal]:
            raise ChecksError("The signal has another number of frequencies.", argument="hertz", code="frequencies")
        if any(not (math.isfinite(f) and 5 <= f <= 0.46 * self.rate) for f in self.hertz):
            raise ChecksError("A frequency lies outside the band.", argument="hertz", code="frequency")
        if not (math.isfinite(self.seconds) and 1 <= self.seconds <= 600):
            raise ChecksError("A signal lasts 1 s to 600 s.", argument="seconds", code="seconds")
        if self.signal is Signal.STEPS and not self.levels:
            raise ChecksError("A stepped level has steps.", argument="levels", code="levels")

    @property
    def exact_hertz(self) -> tuple[float, ...]:
        """The frequencies as generated."""
        if self.signal is Signal.SWEEP:
            return self.hertz
        return tuple(coherent_frequency(f, self.rate) for f in self.hertz)

    @property
    def duration(self) -> float:
        """Seconds without silence before and after."""
        return STEP_SECONDS * len(self.levels) if self.signal is Signal.STEPS else self.seconds


STEPS = SignalPlan(Signal.STEPS, levels=(-40.0, -34.0, -28.0, -22.0, -18.0, -15.0, -12.0, *map(float, range(-10, 1))))


@finite_arguments
def coherent_frequency(nominal: float, rate: int) -> float:
    """The bin nearest to `nominal` whose low harmonics keep clear of the multiples of 50 and 60 Hz."""
    width = rate / (COHERENT << round(math.log2(rate / 48_000)))
    centre = round(nominal / width)
    for away in range(max(2, round(0.05 * centre))):
        for turns in (centre + away, centre - away):
            if _is_clear(turns * width):
                return turns * width
    return centre * width


def _is_clear(hertz: float) -> bool:
    """Whether the first harmonics below 1.3 kHz stand apart from the mains lines."""
    harmonics = [hertz * k for k in range(1, 11) if hertz * k < 1300]
    return all(abs(h - mains * round(h / mains)) >= CLEAR for h in harmonics for mains in (50.0, 60.0))


def make_signal(plan: SignalPlan) -> np.ndarray:
    """Samples as shares of full scale, shape (samples,)."""
    count = round(plan.duration * plan.rate)
    body = FULL * _faded(_body(plan, np.arange(count) / plan.rate), plan.rate)
    return np.concatenate([np.zeros(round(LEAD * plan.rate)), body, np.zeros(round(TAIL * plan.rate))])


def make_beginning(plan: SignalPlan, samples: int) -> np.ndarray:
    """The first samples of make_signal(plan), shape (samples,), for as many as lie before its end fades."""
    lead = round(LEAD * plan.rate)
    body = _body(plan, np.arange(samples - lead) / plan.rate)
    body[: round(FADE * plan.rate)] *= _ramp(round(FADE * plan.rate))
    return np.concatenate([np.zeros(lead), FULL * body])


def _body(plan: SignalPlan, time: np.ndarray) -> np.ndarray:
    if plan.signal is Signal.SILENCE:
        return np.zeros(len(time))
    if plan.signal is Signal.SWEEP:
        return np.sin(sweep_phase(time, plan.hertz, plan.seconds))
    waves = [np.sin(2 * math.pi * f * time) for f in plan.exact_hertz]
    if plan.signal is Signal.TWO_TONE:
        return TWO_LEVELS[0] * waves[0] + TWO_LEVELS[1] * waves[1]
    if plan.signal is Signal.STEPS:
        step = np.minimum((time / STEP_SECONDS).astype(int), len(plan.levels) - 1)
        return waves[0] * 10 ** (np.array(plan.levels)[step] / 20)
    return waves[0]


@finite_arguments
def sweep_phase(time: np.ndarray, ends: tuple[float, ...], seconds: float) -> np.ndarray:
    """Radians of a sweep whose frequency grows by equal ratios in equal times."""
    low, high = ends
    growth = seconds / math.log(high / low)
    return 2 * math.pi * low * growth * (np.exp(time / growth) - 1)


def inverse_of_sweep(plan: SignalPlan) -> np.ndarray:
    """The sweep backwards, falling 6 dB an octave, so that the two convolved are one pulse of about unit height."""
    if plan.signal is not Signal.SWEEP:
        raise ChecksError("Only a sweep has an inverse.", argument="plan", code="no inverse")
    count = round(plan.seconds * plan.rate)
    time = np.arange(count) / plan.rate
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    body = FULL * _faded(np.sin(sweep_phase(time, plan.hertz, plan.seconds)), plan.rate)
    inverse = body[::-1] * np.exp(-time / growth)
    middle = math.sqrt(plan.hertz[0] * plan.hertz[1])
    turn = np.exp(-2j * math.pi * middle * time)
    return inverse / (abs(body @ turn) * abs(inverse @ turn))


def _faded(body: np.ndarray, rate: int) -> np.ndarray:
    count = min(round(FADE * rate), len(body) // 2)
    ramp, faded = _ramp(count), body.copy()
    faded[:count] *= ramp
    faded[len(faded) - count :] *= ramp[::-1]
    return faded


def _ramp(count: int) -> np.ndarray:
    return 0.5 - 0.5 * np.cos(math.pi * np.arange(count) / count)
