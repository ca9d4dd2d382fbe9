"""From a recording, block by block, to its figures: a survey, then spectra of the stretch that holds the signal."""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from checks.errors import ChecksError
from checks.tone.copies import AFTER, BEFORE, is_copy
from checks.tone.harmonics import Distortion, find_fundamental, measure_distortion
from checks.tone.hum import MAINS, Hum, measure_hum
from checks.tone.intermodulation import Intermodulation, measure_intermodulation
from checks.tone.losses import LossWatch, joints, joints_of_steps, joints_of_sweep, losses_of_steps, moving_of_steps
from checks.tone.low_cut import measure_low_cut
from checks.tone.marks import Marker
from checks.tone.noise import Noise, measure_noise
from checks.tone.notches import LowBand, filtered_line, leaves_hum_clear
from checks.tone.pauses import pauses_about, turned_down, turned_up
from checks.tone.response import Response, measure_response
from checks.tone.rounding import with_rounding
from checks.tone.sides import Sides, find_sides, is_one
from checks.tone.sources import LEAD, STEP_SECONDS, Signal, SignalPlan
from checks.tone.spectrum import Spectrum, SpectrumMaker, segment_length
from checks.tone.steadiness import LOWERED, fall_after_sweep
from checks.tone.steps import Step, end_of_steps, measure_steps
from checks.tone.survey import ACTIVE, Stretch, Survey, Surveyor
from checks.tone.sweep_noise import noise_with_sweep
from checks.tone.texture import NoiseTexture
from checks.tone.trust import (
    Doubt,
    Remark,
    doubts_of_bits,
    doubts_of_cut,
    doubts_of_disturbance,
    doubts_of_erased,
    doubts_of_filter,
    doubts_of_flutter,
    doubts_of_foreign,
    doubts_of_hum,
    doubts_of_losses,
    doubts_of_low_cut,
    doubts_of_pauses,
    doubts_of_response,
    doubts_of_sides,
    doubts_of_silence,
    doubts_of_skirts,
    doubts_of_steps,
    doubts_of_survey,
    doubts_of_swing,
    doubts_of_texture,
    doubts_of_tone,
    doubts_of_two_tones,
    plain_density,
)

PRODUCTS = 5  # order up to which two tones make others in an amplifier
MAINS_LINES = [mains * k for mains in MAINS for k in range(1, 11)]
HIGH = 4000.0  # hertz of a tone, from which its third harmonic lies where codecs cut off
NOT_FOUND = ("no sweep found", "no steps found")  # codes of errors that concern one channel alone
LONGEST_HELD = 90.0  # seconds of a sweep or of steps, which are held in memory as one

Blocks = Callable[[], Iterable[np.ndarray]]  # a fresh pass over the samples: blocks of shape (samples, channels)


@dataclass(frozen=True)
class Analysis:
    """What one channel of a recording holds; parts that its signal does not give are None or empty."""

    signal: Signal
    survey: Survey
    remarks: tuple[Remark, ...]
    spectrum: Spectrum | None = field(default=None, repr=False)
    distortion: Distortion | None = None
    hum: Hum | None = None
    noise: Noise | None = None
    response: Response | None = field(default=None, repr=False)
    steps: tuple[Step, ...] = ()
    intermodulation: Intermodulation | None = None
    marks: tuple[int, ...] = field(default=(), repr=False)  # of the whole recording, by which it is known again

    @property
    def is_usable(self) -> bool:
        return not any(remark.is_fatal for remark in self.remarks)


def analyse(
    plan: SignalPlan, rate: int, channels: int, blocks: Blocks, *, is_stereo: bool = False
) -> tuple[Analysis, ...]:
    """One Analysis a channel; `is_stereo`: figures of both channels are asked for.

    Raises ChecksError for a recording that is empty, too short or holds no numbers.
    """
    surveyor, marker = Surveyor(rate, channels), Marker(channels)
    for block in blocks():
        surveyor.add(block)
        marker.add(block)
    surveys = surveyor.finish()
    if plan.signal in (Signal.SWEEP, Signal.STEPS):
        analyses = _analyse_wholes(plan, rate, surveys, blocks)
    else:
        analyses = _analyse_spectra(plan, rate, surveys, blocks)
    analyses = tuple(replace(one, marks=marker.marks()) for one in _with_copies(analyses, plan, rate, blocks))
    return _with_sides(analyses, plan, rate, blocks, is_stereo) if channels == 2 else analyses


def _with_copies(analyses: tuple[Analysis, ...], plan: SignalPlan, rate: int, blocks: Blocks) -> tuple[Analysis, ...]:
    """With what tells that the test signal itself was sent."""
    if plan.signal is Signal.SILENCE or rate != plan.rate:
        return analyses
    begins = _begins(analyses, plan)
    stretch = Stretch(max(0, begins - round(BEFORE * rate)), begins + round(AFTER * rate))
    piece = np.concatenate([*cut(blocks(), stretch)] or [np.zeros((0, len(analyses)))])
    return tuple(
        replace(one, remarks=(*one.remarks, Remark(Doubt.COPY)))
        if len(piece) and is_copy(piece[:, channel], plan, one.survey.step)
        else one
        for channel, one in enumerate(analyses)
    )


def _with_sides(
    analyses: tuple[Analysis, ...], plan, rate: int, blocks: Blocks, is_stereo: bool
) -> tuple[Analysis, ...]:
    """With what is known of which channel is which. In silence nothing was sent."""
    if plan.signal is Signal.SILENCE:
        return analyses
    begins = _begins(analyses, plan)
    lead = [*cut(blocks(), Stretch(max(0, begins - round(LEAD * rate)), begins))]
    body = [*cut(blocks(), Stretch(begins, begins + rate))]
    sides = find_sides(np.concatenate(lead), rate) if lead else Sides.UNKNOWN
    doubts = tuple(doubts_of_sides(sides, bool(body) and is_one(np.concatenate(body)), is_stereo))
    return tuple(replace(one, remarks=(*one.remarks, *doubts)) for one in analyses)


def _begins(analyses: tuple[Analysis, ...], plan: SignalPlan) -> int:
    """The sample at which the signal begins, in the louder channel."""
    loudest = max(analyses, key=lambda one: (one.response is not None, one.survey.peak))
    if loudest.response is not None:
        return loudest.response.begins
    survey = loudest.survey
    if plan.signal is Signal.STEPS:
        return max(0, end_of_steps(survey) - round(STEP_SECONDS * len(plan.levels) * survey.rate))
    if not len(survey.frames):
        return 0
    loud = np.flatnonzero(survey.frames >= ACTIVE * np.quantile(survey.frames, 0.95))
    return int(loud[0]) * survey.frame if len(loud) else 0


def _analyse_spectra(plan: SignalPlan, rate: int, surveys: tuple[Survey, ...], blocks: Blocks) -> tuple[Analysis, ...]:
    stretch = _shared_stretch(plan, surveys)
    track = plan.exact_hertz
    maker = SpectrumMaker(rate, len(surveys), segment_length(len(stretch), rate), track)
    watch = LossWatch(rate, len(surveys), plan)
    low_band = LowBand(rate, len(surveys)) if leaves_hum_clear(plan) else None
    texture, is_silence = NoiseTexture(rate, len(surveys)), plan.signal is Signal.SILENCE
    pauses = [] if is_silence else pauses_about(stretch, surveys[0].samples, rate)
    quiet: list[list[np.ndarray]] = [[] for _ in pauses]
    for place, piece in cut_all(blocks(), [stretch, *pauses]):
        if place:
            quiet[place - 1].append(piece)
            continue
        maker.add(piece)
        watch.add(piece)
        if low_band:
            low_band.add(piece)
        texture.add(piece)
    analyse_one = {Signal.TONE: _tone, Signal.TWO_TONE: _two_tone, Signal.SILENCE: _silence}[plan.signal]
    analyses = []
    for channel, (survey, spectrum) in enumerate(zip(surveys, maker.finish(), strict=True)):
        analysis = analyse_one(plan, survey, spectrum)
        losses = [stretch.start / rate + at for at in watch.losses(channel)]
        doubts = (
            *doubts_of_losses(losses, analysis.remarks),
            *doubts_of_swing(watch.swing(channel), watch.drift(channel)),
        )
        doubts += tuple(doubts_of_flutter(watch.moving(channel), (*analysis.remarks, *doubts)))
        doubts += tuple(doubts_of_texture(texture.unrest(channel)))
        line = filtered_line(analysis.hum, low_band, spectrum, channel, is_silence=is_silence)
        doubts += tuple(doubts_of_filter(line))
        low_cut = measure_low_cut(*low_band.spectrum(channel)) if low_band and is_silence else 0.0
        doubts += tuple(doubts_of_low_cut(low_cut))
        doubts += tuple(_gated(spectrum, survey.step, [np.concatenate(p)[:, channel] for p in quiet], plan))
        analysis = replace(analysis, remarks=(*analysis.remarks, *doubts))
        analyses.append(_with_skirts(_located(analysis, spectrum, stretch, blocks, channel)))
    return tuple(analyses)


def _is_cut_off(plan: SignalPlan) -> bool:
    """Is it a tone so high that codecs cut off its few harmonics without a trace?"""
    return plan.signal is Signal.TONE and plan.hertz[0] >= HIGH


def _gated(spectrum: Spectrum, step: float, pauses: list[np.ndarray], plan: SignalPlan) -> Iterator[Remark]:
    """What the pauses about a tone tell of a gate or of level control."""
    if not pauses:
        return iter(())
    tones = [hertz * k for hertz in plan.exact_hertz for k in range(1, 11)]
    down = turned_down(spectrum, measure_hum(spectrum, tones), math.sqrt(float(spectrum.power.max())), pauses, step)
    return doubts_of_pauses(down, turned_up(spectrum, pauses))


def _with_skirts(analysis: Analysis) -> Analysis:
    """With what lossy compression leaves about its tones, where nothing else has spoiled them."""
    if not analysis.is_usable or analysis.spectrum is None:
        return analysis
    tones = [analysis.distortion.fundamental] if analysis.distortion else []
    if analysis.intermodulation:
        tones = [analysis.intermodulation.low, analysis.intermodulation.high]
    doubts = doubts_of_skirts(analysis.spectrum, tones) if tones else ()
    return replace(analysis, remarks=(*analysis.remarks, *doubts))


def _located(analysis: Analysis, spectrum: Spectrum, stretch: Stretch, blocks: Blocks, channel: int) -> Analysis:
    """With the moment of what disturbed a tone, in place of the mere fact."""
    remarks = [remark for remark in analysis.remarks if remark.doubt is not Doubt.DISTURBED]
    if len(remarks) == len(analysis.remarks):
        return analysis
    if not any(remark.doubt in (Doubt.LOST, Doubt.DROPOUT) for remark in remarks):
        start = stretch.start + int(spectrum.floors.argmax()) * spectrum.hop
        piece = np.concatenate([b[:, channel] for b in cut(blocks(), Stretch(start, start + spectrum.length))])
        at = joints(piece, spectrum.rate)
        if not at:
            return analysis
        remarks.append(Remark(Doubt.JOINT, start / spectrum.rate + at[0]))
    return replace(analysis, remarks=tuple(remarks))


def _shared_stretch(plan: SignalPlan, surveys: tuple[Survey, ...]) -> Stretch:
    """Where the signal of the loudest channel is: of all of them, so that one pass serves."""
    loudest = max(surveys, key=lambda survey: survey.peak)
    return Stretch(0, loudest.samples) if plan.signal is Signal.SILENCE else loudest.active()


def cut(blocks: Iterable[np.ndarray], stretch: Stretch) -> Iterator[np.ndarray]:
    """The samples of a stretch, block by block."""
    return (piece for _place, piece in cut_all(blocks, [stretch]))


def cut_all(blocks: Iterable[np.ndarray], stretches: list[Stretch]) -> Iterator[tuple[int, np.ndarray]]:
    """(which stretch, samples) of several stretches, block by block in one pass, which ends with the last of them."""
    at, stop = 0, max(stretch.stop for stretch in stretches)
    for block in blocks:
        if at >= stop:
            return
        for place, stretch in enumerate(stretches):
            first, last = max(stretch.start - at, 0), min(stretch.stop - at, len(block))
            if first < last:
                yield place, block[first:last]
        at += len(block)


def _tone(plan: SignalPlan, survey: Survey, spectrum: Spectrum) -> Analysis:
    hum = measure_hum(spectrum, [plan.exact_hertz[0] * k for k in range(1, 11)])
    frequency = find_fundamental(spectrum, plan.exact_hertz[0], spectrum.tracked[0])
    distortion = measure_distortion(spectrum, frequency, mains=hum.mains)
    tones = [frequency.hertz, *(h.line.hertz for h in distortion.harmonics)]
    noise = measure_noise(spectrum, tones, [line.hertz for line in hum.lines])
    remarks = [*doubts_of_survey(survey, plan.signal), *doubts_of_tone(distortion, plan), *doubts_of_hum(hum)]
    remarks += doubts_of_disturbance(spectrum, distortion.fundamental.rms)
    if distortion.fundamental.is_seen:
        own = _multiples(spectrum, frequency.hertz) + [line.hertz for line in hum.lines]
        remarks += [*doubts_of_foreign(spectrum, own, distortion.fundamental.rms), *doubts_of_cut(spectrum)]
        remarks += doubts_of_erased(spectrum) if _is_cut_off(plan) else ()
    return Analysis(plan.signal, survey, tuple(remarks), spectrum, distortion, hum, noise)


def _multiples(spectrum: Spectrum, *tones: float) -> list[float]:
    """The frequencies that an amplifier makes of tones: sums and differences of their multiples."""
    top, frequencies = spectrum.rate / 2, [0.0]
    for tone in tones:
        most = PRODUCTS if len(tones) > 1 else int(top / tone)
        frequencies = [base + tone * k for base in frequencies for k in range(-most, most + 1)]
    return [f for f in frequencies if 0 < f < top]


def _two_tone(plan: SignalPlan, survey: Survey, spectrum: Spectrum) -> Analysis:
    tones = zip(plan.exact_hertz, spectrum.tracked, strict=True)
    fundamentals = tuple(find_fundamental(spectrum, hertz, tracked) for hertz, tracked in tones)
    try:
        products = measure_intermodulation(spectrum, *(fundamental.hertz for fundamental in fundamentals))
    except ChecksError:  # of an upper tone that is not there
        return Analysis(plan.signal, survey, (*doubts_of_survey(survey, plan.signal), Remark(Doubt.NO_TONE)), spectrum)
    remarks = [*doubts_of_survey(survey, plan.signal), *doubts_of_two_tones(products, fundamentals, plan)]
    remarks += doubts_of_disturbance(spectrum, products.low.rms)
    if not any(remark.doubt in (Doubt.NO_TONE, Doubt.OTHER_TONE) for remark in remarks):
        own = _multiples(spectrum, *(fundamental.hertz for fundamental in fundamentals)) + MAINS_LINES
        remarks += [*doubts_of_foreign(spectrum, own, products.high.rms), *doubts_of_cut(spectrum)]
    return Analysis(plan.signal, survey, tuple(remarks), spectrum, intermodulation=products)


def _silence(plan: SignalPlan, survey: Survey, spectrum: Spectrum) -> Analysis:
    hum = measure_hum(spectrum)
    noise = measure_noise(spectrum, (), [line.hertz for line in hum.lines])
    noise, hum = with_rounding(noise, hum, plain_density(spectrum), survey.rate, survey.step)
    remarks = [*doubts_of_survey(survey, plan.signal), *doubts_of_hum(hum), *doubts_of_disturbance(spectrum, 0.0)]
    remarks += [*doubts_of_silence(spectrum, hum), *doubts_of_cut(spectrum, is_silence=True)]
    remarks += [*doubts_of_erased(spectrum), *doubts_of_bits(spectrum, survey, hum)] if hum.total else ()
    return Analysis(plan.signal, survey, tuple(remarks), spectrum, hum=hum, noise=noise)


def _analyse_wholes(plan: SignalPlan, rate: int, surveys: tuple[Survey, ...], blocks: Blocks) -> tuple[Analysis, ...]:
    """A channel without the signal spoils none but itself: often only one is connected. Raises the first channel's
    ChecksError where none holds it."""
    results: list[Analysis | ChecksError] = []
    for channel, survey in enumerate(surveys):
        try:
            results.append(_analyse_whole(plan, rate, survey, blocks, channel))
        except ChecksError as error:
            results.append(error)
    errors = [error for error in results if isinstance(error, ChecksError)]
    if len(errors) == len(results) or any(error.code not in NOT_FOUND for error in errors):
        raise errors[0]
    return tuple(
        Analysis(plan.signal, survey, (*doubts_of_survey(survey, plan.signal), Remark(Doubt.NO_SIGNAL)))
        if isinstance(one, ChecksError)
        else one
        for one, survey in zip(results, surveys, strict=True)
    )


def _analyse_whole(plan: SignalPlan, rate: int, survey: Survey, blocks: Blocks, channel: int) -> Analysis:
    if survey.seconds > LONGEST_HELD:
        raise ChecksError("The recording is too long.", argument="samples", code="too long", seconds=LONGEST_HELD)
    if rate != plan.rate:
        raise ChecksError("The recording has another sample rate.", argument="rate", code="other rate", rate=plan.rate)
    remarks = tuple(doubts_of_survey(survey, plan.signal))
    samples = np.concatenate([block[:, channel] for block in blocks()])
    if any(remark.is_fatal for remark in remarks):
        return Analysis(plan.signal, survey, remarks)
    if plan.signal is Signal.SWEEP:
        response = measure_response(samples, plan)
        remarks += tuple(doubts_of_response(response, noise_with_sweep(samples, response.begins, plan)))
        fall = fall_after_sweep(samples, response.begins, plan)
        changed = max(fall, 1 / fall)
        response = replace(response, moved=20 * math.log10(changed))
        remarks += (Remark(Doubt.LEVEL_CONTROLLED, changed - 1),) if changed > LOWERED else ()
        remarks += tuple(doubts_of_losses(joints_of_sweep(samples, response.begins, plan), remarks, Doubt.JOINT))
        return Analysis(plan.signal, survey, remarks, response=response)
    steps = measure_steps(samples, survey, plan)
    end = end_of_steps(survey)
    remarks += tuple(doubts_of_losses(losses_of_steps(samples, end, plan), remarks))
    remarks += tuple(doubts_of_losses(joints_of_steps(samples, end, plan), remarks, Doubt.JOINT))
    remarks += tuple(doubts_of_flutter(moving_of_steps(samples, end, plan), remarks))
    remarks += tuple(doubts_of_steps(steps))
    return Analysis(plan.signal, survey, remarks, steps=steps)
