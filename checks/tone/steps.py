"""A recording of a stepped level: output and distortion at each step, and the power at a stated distortion."""

import math
from dataclasses import dataclass

import numpy as np

from checks.errors import ChecksError
from checks.finite import finite_figures, real_arguments, refuse_unreal
from checks.tone.harmonics import Distortion, find_fundamental, measure_distortion
from checks.tone.skirts import skirt_of_tone
from checks.tone.sources import STEP_SECONDS, Signal, SignalPlan
from checks.tone.spectrum import Spectrum, compute_spectrum
from checks.tone.survey import ACTIVE, Survey

EDGE = 0.2  # seconds left out at both ends of a step
LIMITED = 0.005  # THD, that an amplifier passes long before its gain has fallen by half a dB (which takes 2 %)
BETWEEN = (0.2, 0.8)  # of the way from one harmonic to the next, where noise is looked at
FEWEST = 24  # bins there
QUIETEST = 3  # steps, the noise of which is the amplifier's own
CHANGED = 4.0  # times in power (6 dB), by which noise changes with the level
COUNTS = 10**-11.5  # of the tone's power in a hertz, from which more noise has moved harmonics
DRIVEN = 0.03  # THD, from which a step tells nothing of noise
HELD_GAIN = 0.15  # dB by which gain may fall in a step that is still straight
LOST_GAIN = 0.11  # share of gain (1 dB), from which something must have taken it
STRAIGHT = 1.5  # dB within which the quieter half of the steps rises as played


@finite_figures
@dataclass(frozen=True)
class Step:
    """One step: its level in dB re the loudest, and what was recorded."""

    level: float
    distortion: Distortion
    noise: float = 0.0  # mean square in a hertz, between the tone and its harmonics
    skirt: float = 0.0  # times by which noise close to the tone is raised as lossy compression raises it; 0 where not

    @property
    def rms(self) -> float:
        return self.distortion.fundamental.rms


@real_arguments
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
        steps.append(_step(level, piece, plan, mains))
    seen = tuple(step for step in steps if step.distortion.fundamental.is_seen)
    _refuse_other_steps(seen, plan)
    return seen


def _refuse_other_steps(steps: tuple[Step, ...], plan: SignalPlan) -> None:
    """A tone of one level, or steps that were cut, would clip where their level does not rise."""
    middle = plan.levels[len(plan.levels) // 2]
    gains = [20 * math.log10(step.rms) - step.level for step in steps if step.level <= middle]
    if len(gains) < 2 or max(gains) - min(gains) > STRAIGHT:
        raise ChecksError("The levels are not those of the steps.", argument="samples", code="no steps found")


def noise_rise_about_tone(steps: tuple[Step, ...]) -> float:
    """How many times noise about the tone is raised, where most steps show it; 0 where they do not."""
    raised = [step.skirt for step in steps if step.skirt]
    return float(np.median(raised)) if steps and len(raised) > len(steps) / 2 else 0.0


def noise_with_level(steps: tuple[Step, ...]) -> float:
    """How many times the noise of the quietest steps a quarter of the others have; 1 where it is the amplifier's own.

    A codec rounds more roughly what is louder, or leaves out what a loud tone masks; a limiter turns all down. Steps
    that are driven far are left out: there the amplifier itself is not at rest.
    """
    straight = [step for step in steps if step.distortion.thd < DRIVEN]
    if len(straight) < 2 * QUIETEST:
        return 1.0
    quiet = float(np.median([step.noise for step in straight[:QUIETEST]]))
    times = [(step.noise / max(quiet, 1e-300), step) for step in straight[QUIETEST:]]
    least = max(2, math.ceil(len(times) / 4))
    fallen = [ratio for ratio, _step in times if ratio * CHANGED < 1]
    risen = [ratio for ratio, step in times if ratio > CHANGED and step.noise > COUNTS * step.rms**2]
    return next((float(np.median(ratios)) for ratios in (fallen, risen) if len(ratios) >= least), 1.0)


def gain_lost_without_distortion(steps: tuple[Step, ...]) -> float:
    """The share of its gain that a step lost otherwise than by the amplifier's curve: by a limiter; 0 for none.

    To the first order a curve that takes a share c of a sine away puts c/3 of it in its third harmonic, since
    sin³ x = (3 sin x - sin 3x) / 4; a clipped one has more. What distortion grows by as the level does is left out.
    """
    if len(steps) < 2 * QUIETEST:
        return 0.0
    gains = [20 * math.log10(step.rms) - step.level for step in steps]
    usual = float(np.median(gains[: len(gains) // 2]))
    straight = [step for step, gain in zip(steps, gains, strict=True) if usual - gain < HELD_GAIN]
    worst = 0.0
    for step, gain in zip(steps, gains, strict=True):
        lost = 1 - 10 ** ((gain - usual) / 20)
        if (
            lost > LOST_GAIN
            and max(_distortion_above(straight[-1], step), step.distortion.thd_without_second) < lost / 9
        ):
            worst = max(worst, lost)
    return worst


def _distortion_above(straight: Step, step: Step) -> float:
    """What a step's distortion is more than that of one within the straight part, grown with the level."""
    grown = straight.distortion.thd * 10 ** ((step.level - straight.level) / 20)
    return math.sqrt(max(0.0, step.distortion.thd**2 - grown**2))


def end_of_steps(survey: Survey) -> int:
    """The sample at which the loudest step ends."""
    loud = np.flatnonzero(survey.frames >= ACTIVE * survey.frames.max())
    return (int(loud[-1]) + 1) * survey.frame


def _step(level: float, piece: np.ndarray, plan: SignalPlan, mains: float) -> Step:
    spectrum = compute_spectrum(piece, plan.rate, plan.exact_hertz)
    frequency = find_fundamental(spectrum, plan.exact_hertz[0], spectrum.tracked[0])
    distortion = measure_distortion(spectrum, frequency, mains=mains)
    skirt = skirt_of_tone(spectrum, frequency.hertz, distortion.fundamental.rms)
    return Step(level, distortion, _noise_between(spectrum, frequency.hertz), skirt)


def _noise_between(spectrum: Spectrum, hertz: float) -> float:
    """The most of it between two harmonics, whose lower quarter no line of hum reaches."""
    bins = [
        (spectrum.find_bin((k + BETWEEN[0]) * hertz), spectrum.find_bin((k + BETWEEN[1]) * hertz)) for k in (1, 2, 3)
    ]
    parts = [spectrum.density[low:high] for low, high in bins if high < len(spectrum.density) and high - low >= FEWEST]
    return max((float(np.quantile(part, 0.25)) for part in parts), default=0.0)


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


@real_arguments
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


@real_arguments
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
