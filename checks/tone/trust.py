"""What makes a recording's figures doubtful, as codes with parameters."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from checks.tone.bandwidth import cut_of_noise, cut_of_silence
from checks.tone.decibels import power_decibels
from checks.tone.flutter import HEARD, SMEARED
from checks.tone.harmonics import Distortion, mark_lines
from checks.tone.hum import Hum
from checks.tone.intermodulation import Intermodulation
from checks.tone.lines import Frequency, Line, measure_line, strongest
from checks.tone.response import Response
from checks.tone.sides import Sides
from checks.tone.skirts import skirt_of_tone
from checks.tone.sources import TWO_LEVELS, Signal, SignalPlan
from checks.tone.spectrum import Spectrum
from checks.tone.steps import Step, gain_lost_without_distortion, noise_rise_about_tone, noise_with_level
from checks.tone.survey import Survey

LOW_PEAK = 0.01  # of full scale (-40 dB): a tone recorded below it wastes the converter
SILENT_PEAK = 1e-7
CLOCK = 1e-3  # share by which a card's clock is never off: it is another tone
WANDER = 2e-5  # share by which a generated tone may move: more is a resampled or disturbed recording
MAINS_WANDER = 0.2  # hertz
DISTURBED = 30.0  # times the noise of the quietest segment, from which something happened in the loudest
LEAST_DISTURBANCE = 1e-9  # of the tone's power (-90 dBr): a disturbance below it changes no figure
MUTED = 0.02  # of a silence, that may be digital zeros: more is a gate, or a gap, and hides hum
DRIFT = 0.02  # share by which the level may change from second to second
CONTROLLED = 0.12  # share (1 dB), from which a steady tone's level was changed by the recorder
SAME_CLOCK = 2e-4  # share by which two tones of one recording may be off differently
UNLIKE = 4.0  # times, by which the levels of two tones may stand apart otherwise than they were sent
FOREIGN = 0.1  # of a tone, from which another one was played or the amplifier oscillates
COMPRESSED = 0.06  # share (0.5 dB) by which gain may fall under a sweep: more moves its edges by a tenth

SENT_RATIO = TWO_LEVELS[0] / TWO_LEVELS[1]
LOWEST = 20.0  # hertz that are heard
OVERDRIVE = 0.1  # share of harmonics in a sweep, from which compression moves its edges
BEST_CONVERTER = -132.0  # dB of full scale, of noise up to 20 kHz: none that is made, nor any amplifier, is quieter
PLAIN = (1000.0, 18_000.0)  # hertz, between which a recording's noise hardly falls, also one taken to a higher rate
MEDIAN_OF_MEAN = 0.93  # of averaged noise's squared magnitude; nearly 1 for many averages
AUDIBLE = 20_000.0  # hertz
ROUNDING = 0.35  # of a step's square, that rounding with triangular dither (a quarter) makes at most, and 1.5 dB
ALONE = 0.5  # of all power in a silence, that one tone beside the mains has when something was played
IN_VOLTS = (Signal.TONE, Signal.STEPS, Signal.SILENCE)  # whose level counts beside that of another recording


class Doubt(StrEnum):
    """Why a figure cannot be trusted, or not as it stands."""

    CLIPPED = "clipped"  # the converter ran out of range
    CLIPPED_ONE_SIDE = "clipped on one side"  # the same; its figure is the side, -1 or 1
    COARSE = "coarse"  # its steps are too coarse to tell clipping from rounding; its figure is how many bits
    NORMALISED = "normalised"  # turned up to a round level afterwards; its figure is the peak
    SILENT = "silent"
    LEVEL_LOW = "level low"
    DROPOUT = "dropout"
    NO_SIGNAL = "no signal"  # in this channel, though another holds it
    NO_TONE = "no tone"
    OTHER_TONE = "other tone"
    TONE_WANDERS = "tone wanders"
    FLUTTER = "flutter"  # it wanders so far that harmonics read low; its figure is by how many radians
    MAINS_WANDERS = "mains wanders"
    HARMONIC_ON_MAINS = "harmonic on mains line"
    LOST = "samples lost"  # or repeated, or held; its figure is when, in seconds
    JOINT = "joint"  # the signal does not go on smoothly: samples lost, or a click; when, in seconds
    DISTURBED = "disturbed"  # the same where nobody knows when
    CRACKLES = "crackles"  # the same without a tone: it may be the amplifier's
    OVERDRIVEN = "overdriven"  # an amplifier that clips looks flatter than it is
    LEVEL_DRIFTS = "level drifts"
    LEVEL_CONTROLLED = "level controlled"  # the recorder changed its own gain: automatic level, noise suppression
    GATED = "gated"  # hum and hiss are turned down where nothing is played; its figure is how many times
    NARROW_BAND = "narrow band"  # cut off as a lossy file is, and much below with it; its figure is where, in hertz
    LOSSY = "lossy"  # noise stands about the tone, weak harmonics may be gone; its figure is by how many dB
    PATCHY = "noise patchy"  # it comes and goes in single bands as a lossy file's does; by how many times its spread
    RIPPLED = "response rippled"  # from point to point as a lossy file's is; by how many dB
    NOISE_RISES = "noise rises"  # with the sweep, as that of a lossy file; by how many dB
    COPY = "copy of the signal"  # the file that was to be played, not a recording
    ERASED = "noise erased"  # less of it than any converter makes; its figure is its level, in dB of full scale
    TOO_FEW_BITS = "too few bits"  # hum below a step of the file, and no noise but that of rounding; in dB of it
    NOTCHED = "response notched"  # in a band narrower than any amplifier's; its figure is where, in hertz
    LOW_CUT = "low cut"  # by the recorder, and hum with it; its figure is by how many dB its noise falls
    FILTERED = "hum filtered"  # by the recorder; its figure is the line, in hertz
    SWAPPED = "channels swapped"  # left was recorded on the right
    MIXED = "channels mixed"  # both hold one signal: neither tells of one channel alone
    SIDES_UNKNOWN = "sides unknown"  # nothing tells which channel is which
    STRETCHED = "stretched"  # the sweep ran faster or slower than any clock does; by how much, as a share
    COMPRESSED = "compressed"  # the amplifier's gain fell under the sweep; by how much, as a share


# With any other no figure of a recording is used.
NOT_FATAL = {
    Doubt.LEVEL_LOW,
    Doubt.TONE_WANDERS,
    Doubt.MAINS_WANDERS,
    Doubt.HARMONIC_ON_MAINS,
    Doubt.CRACKLES,
    Doubt.LEVEL_DRIFTS,
    Doubt.SIDES_UNKNOWN,
}
FATAL = frozenset(Doubt) - NOT_FATAL


@dataclass(frozen=True)
class Remark:
    """A doubt, and the figure that shows it (times, hertz, share, order of a harmonic)."""

    doubt: Doubt
    figure: float = 0.0

    @property
    def is_fatal(self) -> bool:
        return self.doubt in FATAL


def doubts_of_survey(survey: Survey, signal: Signal) -> Iterator[Remark]:
    """What the recording's samples show by themselves."""
    if survey.peak < SILENT_PEAK:
        yield Remark(Doubt.SILENT, survey.peak)
        return
    if survey.is_clipped():
        yield _clipping(survey)
    elif signal in IN_VOLTS and survey.is_normalised():
        yield Remark(Doubt.NORMALISED, survey.highest)
    if signal is Signal.SILENCE:
        if survey.muted() > MUTED:
            yield Remark(Doubt.DROPOUT, 1)
        return
    if survey.peak < LOW_PEAK:
        yield Remark(Doubt.LEVEL_LOW, survey.peak)
    if survey.dropouts():
        yield Remark(Doubt.LOST, survey.dropouts()[0])
    if signal in (Signal.TONE, Signal.TWO_TONE) and survey.drift() > DRIFT:
        doubt = Doubt.LEVEL_CONTROLLED if survey.drift() > CONTROLLED else Doubt.LEVEL_DRIFTS
        yield Remark(doubt, survey.drift())


def _clipping(survey: Survey) -> Remark:
    if survey.is_coarse():
        return Remark(Doubt.COARSE, 1 - round(math.log2(survey.coarse_step)))
    if survey.flat_side:
        return Remark(Doubt.CLIPPED_ONE_SIDE, survey.flat_side)
    return Remark(Doubt.CLIPPED, survey.flat_runs)


def doubts_of_disturbance(spectrum: Spectrum, tone: float) -> Iterator[Remark]:
    """Something that happened once. `tone` is the RMS of what was played; 0 for silence."""
    times, square = spectrum.disturbance
    if times > DISTURBED and square > LEAST_DISTURBANCE * tone**2:
        yield Remark(Doubt.DISTURBED if tone else Doubt.CRACKLES, times)


def doubts_of_losses(seconds: list[float], known: Iterable[Remark] = (), doubt: Doubt = Doubt.LOST) -> list[Remark]:
    """The first loss; nothing where a gap is known already."""
    is_known = any(remark.doubt in (Doubt.LOST, Doubt.DROPOUT) for remark in known)
    return [] if is_known or not seconds else [Remark(doubt, min(seconds))]


def doubts_of_tone(distortion: Distortion, plan: SignalPlan) -> Iterator[Remark]:
    """Whether it is the tone that was sent, and which of its harmonics lie on mains lines."""
    sent = plan.exact_hertz[0]
    if not distortion.fundamental.is_seen:
        yield Remark(Doubt.NO_TONE, sent)
        return
    if abs(clock_error(distortion.frequency, sent)) > CLOCK:
        yield Remark(Doubt.OTHER_TONE, distortion.frequency.hertz)
    elif distortion.frequency.wander > max(WANDER * sent, 3 * distortion.frequency.u):
        yield Remark(Doubt.TONE_WANDERS, distortion.frequency.wander)
    for harmonic in distortion.harmonics:
        if harmonic.mains_order:
            yield Remark(Doubt.HARMONIC_ON_MAINS, harmonic.order)


def doubts_of_two_tones(
    products: Intermodulation, fundamentals: tuple[Frequency, ...], plan: SignalPlan
) -> Iterator[Remark]:
    """Whether they are the two tones that were sent, of the levels they were sent with but for the response."""
    sent = plan.exact_hertz
    if not (products.low.is_seen and products.high.is_seen):
        yield Remark(Doubt.NO_TONE, sent[1] if products.low.is_seen else sent[0])
        return
    errors = [clock_error(fundamental, hertz) for fundamental, hertz in zip(fundamentals, sent, strict=True)]
    worst = max((0, 1), key=lambda n: abs(errors[n]))
    if abs(errors[worst]) > CLOCK or abs(errors[0] - errors[1]) > SAME_CLOCK:
        yield Remark(Doubt.OTHER_TONE, fundamentals[worst].hertz)
    elif not SENT_RATIO / UNLIKE <= products.low.rms / products.high.rms <= SENT_RATIO * UNLIKE:
        yield Remark(Doubt.NO_TONE, sent[1] if products.low.rms > products.high.rms else sent[0])


def doubts_of_foreign(spectrum: Spectrum, own: Iterable[float], tone: float) -> Iterator[Remark]:
    """A tone that is none of `own` (hertz), beside the one of RMS `tone` that was played: another, or oscillation."""
    rest = np.where(mark_lines(spectrum, list(own)), 0.0, spectrum.power)
    rest[: spectrum.find_bin(LOWEST)] = 0.0
    top = int(rest.argmax())
    if rest[top] > (FOREIGN * tone) ** 2:
        yield Remark(Doubt.OTHER_TONE, top * spectrum.bin_width)


def doubts_of_response(response: Response, raised: float = 0.0) -> Iterator[Remark]:
    """`raised`: how many times the noise beside the sweep is that before it, where it is raised as by a codec."""
    if response.distortion > OVERDRIVE:
        yield Remark(Doubt.OVERDRIVEN, response.distortion)
    elif response.compression > COMPRESSED:
        yield Remark(Doubt.COMPRESSED, response.compression)
    if abs(response.stretch) > CLOCK:
        yield Remark(Doubt.STRETCHED, response.stretch)
    if response.ripple:
        yield Remark(Doubt.RIPPLED, response.ripple)
    elif raised:
        yield Remark(Doubt.NOISE_RISES, power_decibels(raised))
    if response.notch:
        yield Remark(Doubt.NOTCHED, response.notch)
    if response.cut_off:
        yield Remark(Doubt.NARROW_BAND, response.cut_off)


def doubts_of_steps(steps: tuple[Step, ...]) -> Iterator[Remark]:
    """What the noise of a stepped level tells of lossy compression and of level control."""
    if times := noise_rise_about_tone(steps):
        yield Remark(Doubt.LOSSY, power_decibels(times))
    times = noise_with_level(steps)
    if lost := gain_lost_without_distortion(steps):
        yield Remark(Doubt.LEVEL_CONTROLLED, lost)
    elif times > 1:
        yield Remark(Doubt.NOISE_RISES, power_decibels(times))
    elif times < 1:
        yield Remark(Doubt.LEVEL_CONTROLLED, 1 / math.sqrt(times) - 1)


def doubts_of_sides(sides: Sides, is_one: bool, is_stereo: bool) -> Iterator[Remark]:
    """`is_one`: both channels are the same samples; `is_stereo`: figures of both are asked for."""
    if sides is Sides.SWAPPED:
        yield Remark(Doubt.SWAPPED)
    elif is_stereo and (sides is Sides.MIXED or is_one):
        yield Remark(Doubt.MIXED)
    elif is_stereo and sides is Sides.UNKNOWN:
        yield Remark(Doubt.SIDES_UNKNOWN)


def doubts_of_flutter(moving: tuple[float, float], known: Iterable[Remark] = ()) -> Iterator[Remark]:
    """`moving`: what `moving_phase` tells of a tone. Nothing where no such tone was found, or where samples were lost:
    each loss turns its phase."""
    doubts = {remark.doubt for remark in known}
    if doubts & {Doubt.NO_TONE, Doubt.OTHER_TONE, Doubt.LOST, Doubt.DROPOUT, Doubt.SILENT}:
        return
    radians, off = moving
    if radians > SMEARED or off > 1:
        yield Remark(Doubt.FLUTTER, radians)
    elif radians > HEARD and Doubt.TONE_WANDERS not in doubts:
        yield Remark(Doubt.TONE_WANDERS, radians)


def doubts_of_swing(times: float, drift: float = 0.0) -> Iterator[Remark]:
    """Of the level of what nobody played: 1 where it is as steady as an amplifier's. `drift` is the share by which it
    grew or fell bit by bit."""
    if times > 1:
        yield Remark(Doubt.LEVEL_CONTROLLED, times - 1)
    elif drift:
        yield Remark(Doubt.LEVEL_DRIFTS, drift)


def doubts_of_pauses(turned_down: float, turned_up: float) -> Iterator[Remark]:
    """How many times what nobody played is quieter, or louder, in the pauses about a tone than under it; 0 for not."""
    if turned_down:
        yield Remark(Doubt.GATED, turned_down)
    elif turned_up:
        yield Remark(Doubt.LEVEL_CONTROLLED, turned_up - 1)


def doubts_of_texture(times: float) -> Iterator[Remark]:
    """`times`: how much more unsteady than noise the noise of a band is; 0 where it is not."""
    if times:
        yield Remark(Doubt.PATCHY, times)


def doubts_of_cut(spectrum: Spectrum, *, is_silence: bool = False) -> Iterator[Remark]:
    if hertz := cut_of_silence(spectrum) if is_silence else cut_of_noise(spectrum):
        yield Remark(Doubt.NARROW_BAND, hertz)


def doubts_of_skirts(spectrum: Spectrum, tones: Iterable[Line]) -> Iterator[Remark]:
    """The noise about the tones that were played."""
    if times := max(skirt_of_tone(spectrum, line.hertz, line.rms) for line in tones):
        yield Remark(Doubt.LOSSY, power_decibels(times))


def doubts_of_silence(spectrum: Spectrum, hum: Hum) -> Iterator[Remark]:
    """A tone that stands over everything else: something was played."""
    hertz = strongest(spectrum, LOWEST, spectrum.rate / 2 - spectrum.half_lobe)
    of_mains = hum.mains and abs(hertz - hum.mains * round(hertz / hum.mains)) < spectrum.half_lobe
    half = hum.mains / 2
    if hum.mains and _exceeds_neighbours(spectrum, half) and _exceeds_neighbours(spectrum, 3 * half):
        yield Remark(Doubt.OTHER_TONE, half)
    line, heard = measure_line(spectrum, hertz), spectrum.power[spectrum.find_bin(LOWEST) :]
    if line.is_seen and not of_mains and line.rms**2 > ALONE * float(heard.sum()) / spectrum.window.noise_bandwidth:
        yield Remark(Doubt.OTHER_TONE, hertz)


def doubts_of_erased(spectrum: Spectrum) -> Iterator[Remark]:
    """Less noise than any amplifier and converter make: a codec or a gate took theirs, and hum or harmonics with it."""
    level = power_decibels(max(plain_density(spectrum) * AUDIBLE, 1e-30))
    if level < BEST_CONVERTER:
        yield Remark(Doubt.ERASED, level)


def doubts_of_bits(spectrum: Spectrum, survey: Survey, hum: Hum) -> Iterator[Remark]:
    """Hum that rounding may hide, under a noise that rounding alone makes."""
    if hum.total < survey.step and plain_density(spectrum) * spectrum.rate / 2 < ROUNDING * survey.step**2:
        yield Remark(Doubt.TOO_FEW_BITS, 2 * power_decibels(hum.total / survey.step))


def plain_density(spectrum: Spectrum) -> float:
    """Mean square per hertz of the noise alone."""
    low, high = map(spectrum.find_bin, PLAIN)
    return float(np.median(spectrum.density[low:high])) / MEDIAN_OF_MEAN


def _exceeds_neighbours(spectrum: Spectrum, hertz: float) -> bool:
    return spectrum.find_bin(hertz) > 3 * spectrum.window.half_lobe and measure_line(spectrum, hertz).is_seen


def doubts_of_filter(hertz: float) -> Iterator[Remark]:
    """`hertz` of a mains line that the recorder filtered out, 0 for none."""
    if hertz:
        yield Remark(Doubt.FILTERED, hertz)


def doubts_of_low_cut(decibels: float) -> Iterator[Remark]:
    if decibels:
        yield Remark(Doubt.LOW_CUT, decibels)


def doubts_of_hum(hum: Hum) -> Iterator[Remark]:
    if hum.mains and abs(hum.mains - hum.nominal) > MAINS_WANDER:
        yield Remark(Doubt.MAINS_WANDERS, hum.mains)


def clock_error(frequency: Frequency, sent: float) -> float:
    """The share by which the card's clock makes the tone appear off."""
    return frequency.hertz / sent - 1
