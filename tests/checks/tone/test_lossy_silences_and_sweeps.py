"""Silences and sweeps that went through a codec with loss: refused, or the figure right; and honest ones, all taken.

The codecs are those that the sound library writes. The gamma distribution of band powers is textbook statistics; the
brick wall is a converter's half-band filter (flat to 0.4535 of the rate, gone at 0.5465: common practice).
"""

import io
import math

import numpy as np
import pytest
import soundfile
from scipy.signal import butter, firwin, oaconvolve, resample_poly, sosfilt

from checks.derived import Estimate
from checks.tone.analysis import analyse
from checks.tone.requests import find_figure, request_from
from checks.tone.sources import Signal, SignalPlan, make_signal
from checks.tone.texture import NoiseTexture
from checks.tone.trust import Doubt

pytestmark = pytest.mark.slow  # simulations

RATE = 48_000
MANY = [("OGG", "VORBIS", q) for q in (0.2, 0.6, 1.0)] + [("OGG", "OPUS", 0.6)]
MANY += [("MP3", "MPEG_LAYER_III", q) for q in (0.2, 0.6, 0.99)]


def flicker(count, rate, seed, corner=100.0):
    """Noise of unit RMS or so, rising below a corner as a valve's does."""
    bins = np.fft.rfft(np.random.default_rng(seed).standard_normal(count))
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / rate), rate / count)
    return np.fft.irfft(bins * np.sqrt(1 + corner / hertz), count)


def amplifier(hum=(1e-4, 5e-5, 1e-5, 2e-5), hiss=2e-5, *, rate=RATE, seconds=5.0, seed=1):
    time = np.arange(round(seconds * rate)) / rate
    lines = (math.sqrt(2) * rms * np.sin(2 * math.pi * 50.02 * k * time + k) for k, rms in enumerate(hum, 1))
    return sum(lines) + hiss * flicker(len(time), rate, seed)


def stored(samples, bits=24, *, is_shaped=False):
    """Rounded with triangular dither; shaped: its error fed back once, so that it falls at low frequencies."""
    step, random = 2.0 ** (1 - bits), np.random.default_rng(3)
    dither = (random.random(len(samples)) - random.random(len(samples))) * step
    if not is_shaped:
        return np.round((samples + dither) / step) * step
    out, error = np.empty(len(samples)), 0.0
    for n, sample in enumerate(samples - 0.0):
        wanted = sample - error
        out[n] = round((wanted + dither[n]) / step) * step
        error = out[n] - wanted
    return out


def through(samples, codec, rate=RATE):
    if codec[0] not in soundfile.available_formats():
        pytest.skip("this build of the sound library does not write it")
    out = io.BytesIO()
    soundfile.write(out, samples, rate, format=codec[0], subtype=codec[1], compression_level=codec[2])
    out.seek(0)
    return soundfile.read(out)[0]


def measured(samples, rate=RATE, plan=None):
    plan = plan or SignalPlan(Signal.SILENCE, rate, (), 5.0)
    (found,) = analyse(plan, rate, 1, lambda: [samples[:, None]])
    return found


def doubts(found):
    return {remark.doubt for remark in found.remarks}


@pytest.mark.parametrize("codec", MANY, ids=lambda codec: f"{codec[1]} {codec[2]}")
@pytest.mark.parametrize(("level", "bits"), [(1.0, 24), (1.0, 16), (0.2, 24), (0.1, 16)])
def test_hum_that_went_through_a_codec_gives_no_figure_or_the_right_one(codec, level, bits):
    """Below what a codec keeps, hum comes out quieter by several decibels, under a clean floor of rounding."""
    hum = level * amplifier()
    found = measured(stored(through(hum, codec), bits))
    true = level * math.sqrt(sum(rms**2 for rms in (1e-4, 5e-5, 1e-5, 2e-5)))
    is_right = found.hum.total and abs(20 * math.log10(found.hum.total / true)) < 0.5
    assert not found.is_usable or not found.hum.total or is_right, (found.hum.total / true, found.remarks)


@pytest.mark.parametrize("codec", MANY, ids=lambda codec: f"{codec[1]} {codec[2]}")
def test_noise_that_went_through_a_codec_gives_no_figure_or_the_right_one(codec):
    for hiss in (2e-5, 1e-4):
        honest = measured(stored(amplifier(hiss=hiss)))
        found = measured(stored(through(amplifier(hiss=hiss), codec)))
        if found.is_usable and found.hum.total:
            assert found.noise.a_weighted == pytest.approx(honest.noise.a_weighted, rel=0.06)


WEAK = [(3e-6, 1e-5), (1e-5, 1e-4), (2e-5, 1e-5), (2e-5, 1e-4), (4e-5, 1e-5)]  # RMS of hiss and of hum
MILD = [("OGG", "VORBIS", 0.3), ("OGG", "VORBIS", 0.6), ("OGG", "OPUS", 0.9), ("MP3", "MPEG_LAYER_III", 0.3)]


def weak_figures(samples):
    """Measure -> (dB re full scale, its standard uncertainty) of a silence in 16 bits; nothing where it is refused."""
    found = measured(stored(samples, 16))
    if not found.is_usable or not found.hum.total:
        return {}
    figures = {m: find_figure(request_from(m, {"signal": "silence"}), found, Estimate(1.0)) for m in SILENT}
    return {m: (20 * math.log10(f.value), 8.686 * f.u / f.value) for m, f in figures.items()}


SILENT = ("hum volts", "noise volts", "weighted noise")


@pytest.mark.parametrize("codec", MILD, ids=lambda codec: f"{codec[1]} {codec[2]}")
@pytest.mark.parametrize(("hiss", "hum"), WEAK)
def test_a_weak_silence_in_16_bits_reads_no_lower_than_it_says_it_may(hiss, hum, codec):
    """Under the noise of rounding nothing tells of a codec: weighted noise read up to 0.8 dB low, hum up to 1.9 dB."""
    weak = amplifier(tuple(hum * share for share in (1, 0.5, 0.1, 0.2)), hiss)
    right, found = weak_figures(weak), weak_figures(through(weak, codec))
    for measure in found.keys() & right.keys():
        level, u = found[measure]
        assert level + 2 * u > right[measure][0] - 0.1, measure


def test_steps_of_24_bits_and_noise_well_above_those_of_16_make_no_doubt():
    fine = measured(stored(amplifier(hiss=2e-5), 24))
    loud = measured(stored(amplifier(hiss=3e-4, hum=(3e-3, 1e-3)), 16))
    weak = measured(stored(amplifier(hiss=2e-5), 16))
    assert max(fine.noise.u, loud.noise.u) < 0.1 < 0.5 < weak.noise.u
    assert max(line.u for line in loud.hum.lines[:1]) < 0.05


SWEEP = SignalPlan(Signal.SWEEP, RATE, (8.0, 22_000.0), 10.0)


def swept(level=0.3, hiss=1e-5, edges=(20.0, 15_000.0)):
    played = sosfilt(butter(1, edges, "bandpass", fs=RATE, output="sos"), make_signal(SWEEP))
    played = level * (played + 0.02 * played**2 + 0.005 * played**3)
    return played + hiss * flicker(len(played), RATE, 2)


@pytest.mark.parametrize("codec", [*MANY, ("OGG", "OPUS", 0.0), ("OGG", "OPUS", 0.9)], ids=lambda c: f"{c[1]} {c[2]}")
def test_a_sweep_that_went_through_a_codec_gives_no_edges_or_the_right_ones(codec):
    """Within twice the doubt that is stated beside them."""
    found = measured(stored(through(swept(), codec), 16), plan=SWEEP)
    if found.is_usable:
        for side, edge in ((-1, 20.03), (1, 14_976.0)):
            hertz, u = found.response.edge_with_doubt(3.0, side)
            assert abs(hertz - edge) < 2 * u


@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("peak", [0.0, 2.0])
def test_an_honest_sweep_is_taken_also_with_a_resonance(bits, peak):
    """An output transformer's, of 2 dB and a quality of 5 at 9 kHz."""
    samples = swept()
    if peak:
        gain, turn = 10 ** (peak / 40), 2 * math.pi * 9000 / RATE
        alpha = math.sin(turn) / (2 * 5 * gain)
        boost = [1 + alpha * gain**2, -2 * math.cos(turn), 1 - alpha * gain**2]
        rest = [1 + alpha, -2 * math.cos(turn), 1 - alpha]
        samples = sosfilt([[*(b / rest[0] for b in boost), *(a / rest[0] for a in rest)]], samples)
    found = measured(stored(samples, bits), plan=SWEEP)
    assert doubts(found) == set(), found.remarks


def steep(samples):
    return oaconvolve(samples, firwin(511, 22_500, window=("kaiser", 10.0), fs=RATE), "same")


def ends_at_20_kilohertz(samples, rate, wide=1500.0):
    """A converter's own filter at 44.1 kHz: flat to 20 kHz and gone at 22.05 kHz in data sheets (common practice)."""
    taps = round(6.6 * rate / wide) | 1
    return oaconvolve(samples, firwin(taps, 20_000, window=("kaiser", 10.0), fs=rate), "same")


def upwards(samples, times):
    """As an operating system gives them that runs an old card of 16 bits at 44.1 kHz."""
    old = stored(resample_poly(samples, 147, 160), 16)
    return stored(resample_poly(old, times, 147, window=("kaiser", 10.0)))


HONEST = {
    "16 bits": lambda: (stored(amplifier(), 16), RATE),
    "16 bits, noise-shaped dither": lambda: (stored(amplifier(seconds=4.0), 16, is_shaped=True), RATE),
    "24 bits": lambda: (stored(amplifier()), RATE),
    "quiet, 24 bits": lambda: (stored(0.02 * amplifier()), RATE),
    "44.1 kHz": lambda: (stored(amplifier(rate=44_100), 16), 44_100),
    "resampled from 44.1 kHz": lambda: (stored(resample_poly(amplifier(rate=44_100), 160, 147)), RATE),
    "resampled from 48 kHz": lambda: (stored(resample_poly(amplifier(), 147, 160)), 44_100),
    "96 kHz, from 48 kHz": lambda: (stored(resample_poly(amplifier(), 2, 1)), 96_000),
    "a steep filter at 22.5 kHz": lambda: (stored(steep(amplifier())), RATE),
    "ending at 20 kHz, a card of 44.1 kHz": lambda: (
        stored(ends_at_20_kilohertz(amplifier(rate=44_100), 44_100)),
        44_100,
    ),
    "the same in 16 bits": lambda: (stored(ends_at_20_kilohertz(amplifier(rate=44_100), 44_100), 16), 44_100),
    "the same, taken to 48 kHz": lambda: (stored(ends_at_20_kilohertz(amplifier(), RATE)), RATE),
    "the same, taken to 96 kHz": lambda: (stored(ends_at_20_kilohertz(amplifier(rate=96_000), 96_000)), 96_000),
    "direct current": lambda: (stored(amplifier() + 0.05), RATE),
    "16 bits at 44.1 kHz, taken to 96 kHz": lambda: (upwards(amplifier(hiss=1e-5), 320), 96_000),
    "16 bits at 44.1 kHz, taken to 48 kHz": lambda: (upwards(amplifier(hiss=4e-6), 160), RATE),
    "192 kHz": lambda: (stored(amplifier(rate=192_000, seconds=3.0)), 192_000),
}


@pytest.mark.parametrize("name", HONEST)
def test_an_honest_silence_is_taken_however_it_was_stored(name):
    samples, rate = HONEST[name]()
    found = measured(samples, rate)
    assert doubts(found) == set() and found.hum.total > 0, found.remarks


@pytest.mark.parametrize("kind", ["spur", "drift", "crackle", "bursts"])
def test_noise_of_an_amplifier_is_not_called_patchy(kind):
    """A wandering whistle of a switching supply, slow warming up, a bad joint, rectifiers that switch."""
    x, hiss, random = amplifier(), 2e-5, np.random.default_rng(5)
    time = np.arange(len(x)) / RATE
    if kind == "spur":
        x += hiss * np.sin(2 * math.pi * 5000 * time + 200 * np.sin(4 * time))
    elif kind == "drift":
        x *= 1 + 0.3 * time / 5
    elif kind == "bursts":
        x += 3 * hiss * random.standard_normal(len(x)) * ((100.04 * time) % 1 < 0.05)
    else:
        for at in random.integers(0, len(x) - 400, 6):
            x[at : at + 400] += 60 * hiss * np.exp(-np.arange(400) / 60) * random.standard_normal(400)
    assert not doubts(measured(stored(x))) & {Doubt.PATCHY, Doubt.NARROW_BAND, Doubt.LEVEL_CONTROLLED}


def test_a_file_of_too_few_bits_and_one_without_noise_are_named():
    assert doubts(measured(stored(0.1 * amplifier(), 16))) == {Doubt.TOO_FEW_BITS}
    assert Doubt.ERASED in doubts(measured(stored(amplifier(hiss=1e-9))))


@pytest.mark.slow
def test_of_three_hundred_honest_noises_none_is_called_patchy():
    """Six standard deviations of a median in each of 44 bands: one in ten million recordings, by theory."""
    for seed in range(300):
        texture = NoiseTexture(RATE, 1)
        texture.add(stored(amplifier(seed=seed, seconds=2.0 + seed % 5, hiss=10.0 ** -(4 + seed % 3)))[:, None])
        assert texture.unrest(0) == 0


@pytest.mark.parametrize("nominal", [9000.0, 10_000.0])
def test_a_high_tone_whose_harmonics_a_codec_cut_off_gives_no_distortion(nominal):
    """The second harmonic lies at 18 or 20 kHz, where codecs keep nothing."""
    plan = SignalPlan(Signal.TONE, RATE, (nominal,), 5.0)
    for hiss in (3e-6, 1e-4):
        tone = 0.3 * np.sin(2 * math.pi * plan.exact_hertz[0] * np.arange(5 * RATE) / RATE)
        recorded = tone + 0.02 * tone**2 / 0.3 + amplifier(hiss=hiss)
        honest = measured(stored(recorded, 16), plan=plan)
        assert honest.is_usable, honest.remarks
        for codec in MANY:
            found = measured(stored(through(recorded, codec), 16), plan=plan)
            assert not found.is_usable or found.distortion.thd > 0.9 * honest.distortion.thd, (hiss, codec)


def test_the_test_signal_itself_is_no_recording():
    """Whoever uploads the file that was to be played would pass with the best of figures."""
    for plan in (SignalPlan(Signal.TONE), SWEEP, SignalPlan(Signal.TWO_TONE, RATE, (250.0, 8000.0), 5.0)):
        sent = make_signal(plan)
        assert Doubt.COPY in doubts(measured(stored(0.5 * sent, 16)[9000:], plan=plan)), plan
        recorded = stored(0.5 * sent + 2e-6 * flicker(len(sent), RATE, 3))
        recorded[1:] = 0.7 * recorded[1:] + 0.3 * recorded[:-1]  # a converter moves it by a part of a sample
        assert Doubt.COPY not in doubts(measured(recorded, plan=plan)), plan
        assert Doubt.COPY not in doubts(measured(stored(1e-3 * recorded, 16), plan=plan)), plan


def test_lines_between_those_of_the_mains_are_named():
    """In a file whose header halves the rate hum of 50 Hz stands at 25: nobody would count it."""
    time = np.arange(5 * RATE) / RATE
    halved = sum(rms * np.sin(2 * math.pi * f * time) for f, rms in ((25, 3e-5), (50, 1e-4), (75, 2e-5), (100, 5e-5)))
    assert Doubt.OTHER_TONE in doubts(measured(stored(halved + 1e-5 * flicker(len(time), RATE, 4))))
