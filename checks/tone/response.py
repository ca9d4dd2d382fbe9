"""Frequency response from a recorded sweep, by division of spectra and a gate around the linear pulse."""

import math
from dataclasses import dataclass, field, replace

import numpy as np

from checks.errors import ChecksError
from checks.finite import finite_arguments
from checks.tone.bandwidth import cut_of_response
from checks.tone.dips import narrow_dip
from checks.tone.sources import FADE, LEAD, Signal, SignalPlan, make_signal
from checks.tone.stretch import stretch_of_sweep
from checks.tone.volts import interpolate_decibels

BEFORE, AFTER = 0.25, 1.0  # seconds kept around the pulse; harmonics' pulses come earlier
PER_OCTAVE = 96  # points of the response
EDGES = (2.0, 1.15)  # ratios by which the response keeps off the sweep's ends, which fades and rectified offsets spoil
HARMONICS = 12  # up to which harmonics' pulses are looked out for
CLEAR = 30  # times the root mean square of all, from which a pulse is one
WEAK = 1e-6  # of the sweep's strongest bin: below it nothing was sent
DOUBTFUL = 1.0  # dB of standard uncertainty, from which a point tells nothing: hum or noise lies over it
MIDDLE = (300.0, 3000.0)  # hertz between which an amplifier's gain under the sweep is looked at
SMOOTH = 12  # points on either side of one, a quarter of an octave in all, in which a response is a parabola
EVEN = (300.0, 12_000.0)  # hertz between which that is asked
RIPPLE = 0.015  # dB, the median of what the points lie beside it, from which no amplifier made it
FLATNESS = 0.1  # dB, of the card itself (common practice)


@dataclass(frozen=True)
class Response:
    """Levels in dB over frequency, re the level at `reference` hertz; `u` is the standard uncertainty from noise.

    All arrays have the shape (points,).
    """

    hertz: np.ndarray = field(repr=False)
    levels: np.ndarray = field(repr=False)
    u: np.ndarray = field(repr=False)
    reference: float
    gain: float  # dB at the reference, of the recording re the sweep
    begins: int = 0  # the sample at which the sweep begins in the recording
    distortion: float = 0.0  # RMS of the second to the fifth harmonics' pulses re the linear one's
    compression: float = 0.0  # the share by which gain has fallen in mid-band, as the third harmonic tells
    moved: float = 0.0  # dB by which what nobody played is louder or quieter after the sweep: gain may have moved so
    ripple: float = 0.0  # dB by which neighbouring points jump as codecs make them, each moment by itself; 0 where not
    cut_off: float = 0.0  # hertz above which it was cut as no amplifier does; 0 where it was not
    stretch: float = 0.0  # share by which the sweep ran faster than it was sent
    notch: float = 0.0  # hertz of a dip too narrow for an amplifier; 0 where there is none

    def at(self, hertz: float) -> float:
        """dB at a frequency. Raises ChecksError outside the response."""
        return interpolate_decibels(list(self.hertz), list(self.levels), hertz)

    def edge(self, drop: float, side: int) -> float | None:
        """Hertz at which the response has fallen by `drop` dB, below (side -1) or above the reference, or None."""
        corner = self.edge_with_doubt(drop, side)
        return corner and corner[0]

    def edge_with_doubt(self, drop: float, side: int) -> tuple[float, float] | None:
        """(hertz, standard uncertainty) of an edge. Points that hum or noise lies over are passed by; an edge that lies
        among them is as uncertain as they are wide."""
        beside = ((self.hertz - self.reference) * side > 0) & (self.u < DOUBTFUL)
        hertz, levels, doubt = (array[beside][::side] for array in (self.hertz, self.levels, self.u))
        under = np.flatnonzero(levels < -drop)
        if not len(under) or not under[0]:
            return None
        last = under[0]
        fall, apart = levels[last - 1] - levels[last], math.log(hertz[last] / hertz[last - 1])
        share = (levels[last - 1] + drop) / fall
        edge = float(hertz[last - 1] * math.exp(share * apart))
        slope = _slope(hertz, levels, last)
        between = 0.0 if abs(apart) < 1.5 * math.log(2) / PER_OCTAVE else abs(apart) / 2 / math.sqrt(3)
        level = math.hypot(FLATNESS, float(doubt[last]), 8.686 * self.compression, self.moved / math.sqrt(3))
        return edge, edge * math.hypot(level / slope, between)


def _slope(hertz: np.ndarray, levels: np.ndarray, at: int, points: int = 8) -> float:
    """dB by which the level falls for a step of e in frequency, from the points about the edge."""
    first, last = max(0, at - points), min(len(hertz) - 1, at + points)
    return max(0.5, abs(float((levels[last] - levels[first]) / math.log(hertz[last] / hertz[first]))))


@finite_arguments
def measure_response(samples: np.ndarray, plan: SignalPlan, reference: float = 1000.0) -> Response:
    """The response of one channel, shape (samples,), recorded while `plan`'s sweep was played at the same rate.

    Raises ChecksError for another signal, a recording shorter than the sweep, or one in which no sweep is found.
    """
    if plan.signal is not Signal.SWEEP:
        raise ChecksError("A response needs a sweep.", argument="plan", code="no sweep")
    sent = make_signal(plan)
    if len(samples) < plan.seconds * plan.rate:
        raise ChecksError("The recording is shorter than the sweep.", argument="samples", code="too short")
    pulse = deconvolve(samples - samples.mean(), sent)
    peak = _find_pulse(pulse, len(samples) + len(sent))
    lag = peak if peak < len(pulse) // 2 else peak - len(pulse)
    _refuse_cut_off(lag, len(samples), plan)
    transfer = _gated_spectrum(pulse, peak, plan.rate)
    after, before = _noise_beside(pulse, peak, plan)
    curve = _on_grid(transfer, _greatest((after, before)), plan, reference)
    begins = max(0, lag + round(LEAD * plan.rate))
    return replace(
        curve,
        begins=begins,
        distortion=_distortion(pulse, peak, plan),
        compression=_compression(pulse, peak, plan),
        ripple=_ripple(curve),
        cut_off=cut_of_response(curve.hertz, curve.levels, curve.u < DOUBTFUL, PER_OCTAVE),
        stretch=stretch_of_sweep(pulse, peak, plan),
        notch=narrow_dip(transfer, before, plan),
    )


def _distortion(pulse: np.ndarray, peak: int, plan: SignalPlan) -> float:
    """A harmonic's pulse comes before the linear one by the time in which the sweep reaches its frequency."""
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    half = round(0.4 * growth * math.log(5 / 4) * plan.rate)

    def energy(seconds: float) -> float:
        middle = peak - round(seconds * plan.rate)
        return float((pulse[np.arange(middle - half, middle + half) % len(pulse)] ** 2).sum())

    noise = energy(growth * math.log(HARMONICS) + AFTER)
    harmonics = sum(max(0.0, energy(growth * math.log(k)) - noise) for k in (2, 3, 4, 5))
    return math.sqrt(harmonics / max(energy(0.0), 1e-300))


def _compression(pulse: np.ndarray, peak: int, plan: SignalPlan) -> float:
    """To the first order a curve that takes a share c of a sine away puts a third of it in its third harmonic, since
    sin³ x = (3 sin x - sin 3x) / 4. A harmonic's pulse, divided by the same sweep, has its level at its frequency."""
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    half = round(0.4 * growth * math.log(4 / 3) * plan.rate)
    length = 1 << math.ceil(math.log2(2 * half + 1) + 1)

    def levels(seconds: float, hertz: np.ndarray) -> np.ndarray:
        middle = peak - round(seconds * plan.rate)
        piece = pulse[np.arange(middle - half, middle + half) % len(pulse)] * np.hanning(2 * half)
        bins = np.arange(length // 2 + 1) * plan.rate / length
        return np.interp(hertz, bins, np.abs(np.fft.rfft(piece, length)))

    middle = np.geomspace(max(MIDDLE[0], 3 * plan.hertz[0]), min(MIDDLE[1], plan.hertz[1] / 4), 96)
    noise = levels(growth * math.log(HARMONICS) + AFTER, 3 * middle)
    third = np.sqrt(np.maximum(0.0, levels(growth * math.log(3), 3 * middle) ** 2 - noise**2))
    return 3 * float(np.median(third / np.maximum(levels(0.0, middle), 1e-300)))


def _ripple(curve: Response) -> float:
    """The median, so that a resonance or a line of hum counts little; noise makes a third of its own doubt."""
    asked = (curve.hertz > EVEN[0]) & (curve.hertz < EVEN[1])
    powers = np.vander(np.arange(-SMOOTH, SMOOTH + 1), 3)
    middle = (powers @ np.linalg.pinv(powers))[SMOOTH]
    levels, u = curve.levels[asked], curve.u[asked]
    beside = levels[SMOOTH:-SMOOTH] - np.convolve(levels, middle, "valid")
    ripple = float(np.median(np.abs(beside)))
    return ripple if ripple > max(RIPPLE, float(np.median(u))) else 0.0


def _noise_beside(pulse: np.ndarray, peak: int, plan: SignalPlan) -> list[np.ndarray]:
    """What lies after the linear pulse and before those of the harmonics, as their spectra."""
    growth = plan.seconds / math.log(plan.hertz[1] / plan.hertz[0])
    places = (BEFORE + AFTER, -(growth * math.log(HARMONICS) + AFTER))
    return [_gated_spectrum(pulse, peak + round(place * plan.rate), plan.rate) for place in places]


def _greatest(sides) -> np.ndarray:
    return np.maximum.reduce([level for side in sides for level in (side, _smooth(side))])  # hum stands in few bins


def _smooth(magnitudes: np.ndarray, width: int = 33) -> np.ndarray:
    """Root mean squares over neighbouring bins: a single bin of noise may be near nothing by chance."""
    return np.sqrt(np.convolve(magnitudes**2, np.full(width, 1 / width), "same"))


def deconvolve(samples: np.ndarray, sent: np.ndarray) -> np.ndarray:
    """The impulse response that turns `sent` into `samples`, circular, at least as long as both together."""
    length = 1 << math.ceil(math.log2(len(samples) + len(sent)))
    spectrum = np.fft.rfft(sent, length)
    power = spectrum.real**2 + spectrum.imag**2
    quotient = np.fft.rfft(samples, length) * spectrum.conj() / (power + WEAK * power.max())
    return np.fft.irfft(quotient, length)


def _find_pulse(pulse: np.ndarray, support: int) -> int:
    """Where it is strongest. Noise through the same division fills all of `support` samples alike."""
    peak = int(np.argmax(np.abs(pulse)))
    if abs(pulse[peak]) < CLEAR * math.sqrt(float(pulse @ pulse) / support):
        raise ChecksError("No sweep was found in the recording.", argument="samples", code="no sweep found")
    return peak


def _refuse_cut_off(lag: int, count: int, plan: SignalPlan) -> None:
    """What was cut off at either end would pass for the edge of the response."""
    begins, fade = lag + round(LEAD * plan.rate), round(FADE * plan.rate)
    if begins < -fade or begins + round(plan.seconds * plan.rate) > count + fade:
        raise ChecksError("A part of the sweep was cut off.", argument="samples", code="too short")


def _gated_spectrum(pulse: np.ndarray, peak: int, rate: int) -> np.ndarray:
    before, after = round(BEFORE * rate), round(AFTER * rate)
    piece = pulse[np.arange(peak - before, peak + after) % len(pulse)]
    gate = np.ones(len(piece))
    for count, part in ((before // 2, slice(None, before // 2)), (after // 4, slice(-(after // 4), None))):
        ramp = 0.5 - 0.5 * np.cos(math.pi * (np.arange(count) + 0.5) / count)
        gate[part] = ramp if part.start is None else ramp[::-1]
    return np.abs(np.fft.rfft(piece * gate, 1 << math.ceil(math.log2(len(piece)) + 1)))


def _on_grid(transfer: np.ndarray, noise: np.ndarray, plan: SignalPlan, reference: float) -> Response:
    low, high = plan.hertz[0] * EDGES[0], min(plan.hertz[1] / EDGES[1], 0.46 * plan.rate)
    count = round(math.log2(high / low) * PER_OCTAVE)
    hertz = low * (high / low) ** (np.arange(count + 1) / count)
    bins = np.arange(len(transfer)) * plan.rate / (2 * (len(transfer) - 1))
    levels = 20 * np.log10(np.interp(hertz, bins, np.maximum(transfer, 1e-15)))
    floor = np.interp(hertz, bins, noise)
    if not low <= reference <= high:
        raise ChecksError("The reference lies outside the sweep.", argument="reference", code="reference outside")
    gain = interpolate_decibels(list(hertz), list(levels), reference)
    u = 8.686 / math.sqrt(2) * floor / 10 ** (levels / 20)
    return Response(hertz, levels - gain, u, reference, gain)
