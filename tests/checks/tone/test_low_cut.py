"""A low cut of a mixer or a recorder (80 or 120 Hz, scipy's Butterworth filters) takes hum away: no figure is read. An
amplifier's own couplings and transformer are poles of the first order, its noise flickers, and a converter's own noise
lies below: none of that is a low cut. Signals and filters here share nothing with what is tried."""

import numpy as np
import pytest
from scipy.signal import butter, lfilter, sosfilt

from checks.tone.analysis import analyse
from checks.tone.sources import Signal, SignalPlan
from checks.tone.trust import Doubt

RATE, SECONDS = 48_000, 8
PLAN = SignalPlan(Signal.SILENCE, RATE, (), 10.0)
COUNT = RATE * SECONDS


def hum():
    time = np.arange(COUNT) / RATE
    lines = {50: 2e-3, 100: 3e-3, 150: 3e-4, 200: 2e-4, 300: 1e-4}
    return sum(peak * np.sin(2 * np.pi * hertz * time + hertz) for hertz, peak in lines.items())


def noise(seed, level, flicker=0.0):
    """White noise, with flicker noise that is as strong at so many hertz."""
    bins = np.fft.rfft(np.random.default_rng(seed).standard_normal(COUNT))
    hertz = np.fft.rfftfreq(COUNT, 1 / RATE)
    bins[1:] *= np.sqrt(1 + flicker / hertz[1:])
    return level * np.fft.irfft(bins, COUNT)


def pole(samples, hertz):
    """A coupling of the first order."""
    a = np.exp(-2 * np.pi * hertz / RATE)
    return lfilter([(1 + a) / 2, -(1 + a) / 2], [1, -a], samples)


def stored(samples, bits=24):
    steps = 2.0 ** (bits - 1)
    dither = np.random.default_rng(9).uniform(-0.5, 0.5, (2, len(samples))).sum(axis=0)
    return np.round(samples * steps + dither) / steps


def measured(samples):
    (result,) = analyse(PLAN, RATE, 1, lambda: [samples[RATE:, None]])
    return result


def cut(samples, order, hertz):
    return sosfilt(butter(order, hertz, "high", fs=RATE, output="sos"), samples)


@pytest.mark.lengthy
@pytest.mark.parametrize("level", [1e-4, 3e-5, 1e-5])
@pytest.mark.parametrize(("order", "hertz"), [(2, 120), (3, 80), (3, 120), (4, 80), (4, 120), (8, 75)])
def test_a_low_cut_gives_no_hum(level, order, hertz):
    result = measured(stored(cut(hum() + noise(1, level), order, hertz)))
    assert Doubt.LOW_CUT in {remark.doubt for remark in result.remarks} and not result.is_usable


@pytest.mark.lengthy
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("flicker", [0.0, 200.0, 2000.0])
@pytest.mark.parametrize(
    "poles", [(), (16,), (80,), (8, 20), (30, 60), (8, 16, 40)], ids=lambda poles: "+".join(map(str, poles)) or "none"
)
def test_an_amplifiers_own_couplings_are_no_low_cut(poles, flicker, seed):
    samples = hum() + noise(seed, 3e-5, flicker)
    for hertz in poles:
        samples = pole(samples, hertz)
    card = noise(seed + 50, 1.2e-6)  # of a good converter: 118 dB below full scale
    result = measured(stored(samples + card))
    assert Doubt.LOW_CUT not in {remark.doubt for remark in result.remarks}
    assert result.is_usable
