"""A recording of a stepped level: output and distortion at each step, and the power at a stated distortion."""

import math
from dataclasses import dataclass

import numpy as np

from checks.errors import ChecksError
from checks.finite import finite_figures, refuse_unreal
from checks.tone.harmonics import Distortion, find_fundamental, measure_distortion
from checks.tone.sources import STEP_SECONDS, Signal, SignalPlan
from checks.tone.spectrum import spectrum_of
from checks.tone.survey import ACTIVE, Survey

EDGE = 0.2  # seconds left out at both ends of a step
LIMITED = 0.005  # THD, that an amplifier passes long before its gain has fallen by half a dB (which takes 2 %)
STRAIGHT = 1.5  # dB within which the quieter half of the steps rises as played


@finite_figures
@dataclass(frozen=True)
class Step:
    """One step: its level in dB re the loudest, and what was recorded."""

    level: float
    distortion: Distortion

    @property
    def rms(self) -> float:
        return self.distortion.fundamental.rms


def measure_steps(samples: np.ndarray, survey: Survey, plan: SignalPlan, mains: float = 0.0) -> tuple[Step, ...]:
    """Every step of one channel, shape (samples,), quietest first as played; steps lost in noise are left out.

    The steps are counted back from the end of the loudest. Raises ChecksError when the recording does not hold all.
    """
    if plan.signal is not Signal.STEPS:
        raise ChecksError("This needs a stepped level.", argument="plan", code="no steps")
    end = end_of_steps(survey)
    size, edge = round(STEP_SECONDS * plan.rate), round(EDGE * plan.rate)
    if end < size * len(plan.levels) - edge:
        raise ChecksError("The recording does not hold every step.", argument="samples", code="too short")
    steps = []
    for index, level in enumerate(plan.levels):
        first = end - size * (len(plan.levels) - index)
        piece = samples[max(0, first + edge) : first + size - edge]
        steps.append(Step(level, _distortion(piece, plan, mains)))
    seen = tuple(step for step in steps if step.distortion.fundamental.is_seen)
    _refuse_other_steps(seen, plan)
    return seen


def _refuse_other_steps(steps: tuple[Step, ...], plan: SignalPlan) -> None:
    """A tone of one level, or steps that were cut, would clip where their level does not rise."""
    middle = plan.levels[len(plan.levels) // 2]
    gains = [20 * math.log10(step.rms) - step.level for step in steps if step.level <= middle]
    if len(gains) < 2 or max(gains) - min(gains) > STRAIGHT:
        raise ChecksError("The levels are not those of the steps.", argument="samples", code="no steps found")


def end_of_steps(survey: Survey) -> int:
    """The sample at which the loudest step ends."""
    loud = np.flatnonzero(survey.frames >= ACTIVE * survey.frames.max())
    return (int(loud[-1]) + 1) * survey.frame


def _distortion(piece: np.ndarray, plan: SignalPlan, mains: float) -> Distortion:
    spectrum = spectrum_of(piece, plan.rate, plan.exact_hertz)
    frequency = find_fundamental(spectrum, plan.exact_hertz[0], spectrum.tracked[0])
    return measure_distortion(spectrum, frequency, mains=mains)


@dataclass(frozen=True)
class Limit:
    """Where a stated distortion is reached: RMS output, and the level of the source in dB re the loudest step.

    `u` is the standard uncertainty of the output in dB: it lies somewhere between two steps (rectangular).
    """

    thd: float
    rms: float
    level: float
    u: float

    def __post_init__(self):
        refuse_unreal(self, "level")
        refuse_unreal(self, "thd", "rms", "u", least=0, finite=False)


def output_at_distortion(steps: tuple[Step, ...], thd: float) -> Limit | None:
    """The output at which THD first passes `thd` (a share) for good, interpolated on logarithms; None if never.

    Raises ChecksError for fewer than two steps.
    """
    _need_two(steps)
    for quiet, loud in reversed(list(zip(steps, steps[1:], strict=False))):
        low, high = quiet.distortion.thd, loud.distortion.thd
        if low <= thd < high:
            share = math.log(thd / low) / math.log(high / low) if low > 0 else 0.0
            return _between(quiet, loud, share, thd)
    return None


def clipping_onset(steps: tuple[Step, ...], compression: float = 0.5) -> Limit | None:
    """Where gain has fallen by `compression` dB below that of the middle steps; None if never.

    Raises ChecksError for fewer than two steps, and where gain falls without distortion: the recorder limited it.
    """
    _need_two(steps)
    gains = [20 * math.log10(step.rms) - step.level for step in steps]
    usual = float(np.median(gains[: max(1, 2 * len(gains) // 3)]))
    for index in range(1, len(steps)):
        fall, before = usual - gains[index], usual - gains[index - 1]
        if fall >= compression > before:
            if steps[index].distortion.thd < LIMITED:
                raise ChecksError("Gain falls without distortion.", argument="samples", code="no steps found")
            share = (compression - before) / (fall - before)
            return _between(steps[index - 1], steps[index], share, steps[index].distortion.thd)
    return None


def _between(quiet: Step, loud: Step, share: float, thd: float) -> Limit:
    apart = 20 * math.log10(loud.rms / quiet.rms)
    rms = quiet.rms * (loud.rms / quiet.rms) ** share
    return Limit(thd, rms, quiet.level + share * (loud.level - quiet.level), abs(apart) / 2 / math.sqrt(3))


def _need_two(steps: tuple[Step, ...]) -> None:
    if len(steps) < 2:
        raise ChecksError("This needs two steps or more.", argument="steps", code="steps")
