"""Which of several test signals a recording holds, so that nobody has to sort or rename files."""

import math
from collections.abc import Iterable, Sequence

import numpy as np
from scipy.signal import resample_poly

from checks.errors import ChecksError
from checks.tone.harmonics import find_fundamental
from checks.tone.lines import measure_line
from checks.tone.response import measure_response
from checks.tone.sources import Signal, SignalPlan
from checks.tone.spectrum import Spectrum, compute_spectrum
from checks.tone.steps import measure_steps
from checks.tone.survey import Survey, Surveyor
from checks.tone.trust import CLOCK, SILENT_PEAK, clock_error

LOOKED_AT = 60  # seconds: longer than any signal of a kit
MOST = 0.5  # of all power, that a tone has in a recording of it
QUIET = 0.05  # of full scale (-26 dB), RMS: louder is no silence


def recognise(plans: Sequence[SignalPlan], rate: int, blocks: Iterable[np.ndarray]) -> SignalPlan | None:
    """The plan whose signal is recorded; None where it is none of them. Blocks have the shape (samples, channels).

    Raises ChecksError for a recording that is empty or holds no numbers, or one of a signal at another sample rate.
    """
    samples, survey = _loudest(rate, blocks)
    whole = {Signal.SWEEP: _is_sweep, Signal.STEPS: _are_steps}
    for signal, test in whole.items():
        for plan in (p for p in plans if p.signal is signal and p.rate == rate):
            if test(samples, survey, plan):
                return plan
    spectrum = _spectrum(samples, survey, [f for plan in plans for f in plan.exact_hertz if f < rate / 2])
    if spectrum is None:
        return None
    for signal in (Signal.TWO_TONE, Signal.TONE):
        for plan in (p for p in plans if p.signal is signal):
            if _holds(spectrum, plan):
                return plan
    _refuse_other_rate(samples, survey, [plan for plan in plans if plan.signal in whole and plan.rate != rate], whole)
    return next((p for p in plans if p.signal is Signal.SILENCE and _is_silence(spectrum, survey)), None)


def _refuse_other_rate(samples: np.ndarray, survey: Survey, plans: Sequence[SignalPlan], whole) -> None:
    """Raises ChecksError for a signal that is only measured at its own sample rate, and is recorded at another."""
    for plan in plans if survey.peak > SILENT_PEAK else ():
        divisor = math.gcd(plan.rate, survey.rate)
        again = resample_poly(samples, plan.rate // divisor, survey.rate // divisor)
        surveyor = Surveyor(plan.rate, 1)
        surveyor.add(again[:, None])
        if whole[plan.signal](again, surveyor.finish()[0], plan):
            raise ChecksError("Another rate.", argument="rate", code="other rate", rate=plan.rate)


def _loudest(rate: int, blocks: Iterable[np.ndarray]) -> tuple[np.ndarray, Survey]:
    """The samples and the survey of the loudest channel. Samples are held short: a minute of them is long enough to
    crowd a web server's memory, and a signal is known by far less."""
    parts: list[np.ndarray] = []
    surveyor, count = None, 0
    for block in blocks:
        part = block[: LOOKED_AT * rate - count]
        surveyor = surveyor or Surveyor(rate, block.shape[1])
        surveyor.add(part)
        parts.append(part.T.astype(np.float32))
        count += len(part)
        if count >= LOOKED_AT * rate:
            break
    if surveyor is None or not count:
        raise ChecksError("The recording is empty.", argument="block", code="empty")
    surveys = surveyor.finish()
    channel = max(range(len(surveys)), key=lambda c: surveys[c].peak)
    return np.concatenate([part[channel] for part in parts]).astype(float), surveys[channel]


def _is_sweep(samples: np.ndarray, _survey: Survey, plan: SignalPlan) -> bool:
    try:
        return measure_response(samples, plan) is not None
    except ChecksError:
        return False


def _are_steps(samples: np.ndarray, survey: Survey, plan: SignalPlan) -> bool:
    try:
        return len(measure_steps(samples, survey, plan)) > 1
    except ChecksError:
        return False


def _spectrum(samples: np.ndarray, survey: Survey, tracked: list[float]) -> Spectrum | None:
    active = survey.active()
    try:
        return compute_spectrum(samples[active.start : active.stop], survey.rate, tuple(tracked))
    except ChecksError:
        return None


def _holds(spectrum: Spectrum, plan: SignalPlan) -> bool:
    """Whether nearly all that was recorded are the tones of a plan."""
    total = float(spectrum.power.sum()) / spectrum.window.noise_bandwidth
    power = 0.0
    for sent in plan.exact_hertz:
        if sent > spectrum.rate / 2 - spectrum.half_lobe:
            return False
        fundamental = find_fundamental(spectrum, sent)
        line = measure_line(spectrum, fundamental.hertz)
        if not line.is_seen or abs(clock_error(fundamental, sent)) > CLOCK:
            return False
        power += line.rms**2
    return power > MOST * total


def _is_silence(spectrum: Spectrum, survey: Survey) -> bool:
    """Quiet, and nothing in it stands so far above hum and noise as a tone that was played."""
    level = float(np.sqrt(np.mean(survey.frames**2))) if len(survey.frames) else 0.0
    return survey.peak > SILENT_PEAK and level < QUIET and bool(spectrum.segments)
