"""Windows against the published figures of Heinzel, Rüdiger and Schilling (2002) and the textbooks'."""

import math

import numpy as np
import pytest

from checks.tone.windows import COSINES, FLAT_TOP, Window
from tests.references.reader import named, rows

KNOWN = {"WIN-rect": "rectangle", "WIN-hann": "hann", "WIN-blackman": "blackman"} | {
    f"WIN-{name}": name for name in ("HFT70", "HFT90D", "HFT116D")
}


@pytest.mark.parametrize("r", [r for r in rows("WIN-") if r["id"] in KNOWN], ids=named)
def test_each_window_has_its_published_figures(r):
    window, expected = Window(KNOWN[r["id"]]), r["expected"]
    assert window.noise_bandwidth == pytest.approx(expected["enbw_bins"], rel=r["rel_tol"])
    assert -20 * math.log10(window.gain_at(0.5)) == pytest.approx(expected["scallop_half_bin_dB"], abs=r["abs_tol"])
    assert highest_sidelobe(window) == pytest.approx(expected["highest_sidelobe_dB"], abs=0.3)


def test_the_flat_top_used_has_the_figures_its_authors_print():
    """HFT144D: noise bandwidth 4.5386 bins, error 0.0021 dB, side lobes -144.1 dB (printed; from memory)."""
    assert FLAT_TOP.name == "HFT144D"
    assert FLAT_TOP.noise_bandwidth == pytest.approx(4.5386, abs=1e-4)
    assert -20 * math.log10(FLAT_TOP.gain_at(0.5)) == pytest.approx(0.0021, abs=1e-4)
    assert highest_sidelobe(FLAT_TOP) == pytest.approx(-144.1, abs=0.2)


def test_a_window_cannot_be_changed_by_who_uses_it():
    with pytest.raises(ValueError, match="read-only"):
        FLAT_TOP.samples(64)[0] = 1


def highest_sidelobe(window: Window) -> float:
    samples = window.samples(256)
    shape = 20 * np.log10(np.abs(np.fft.rfft(samples, 1 << 16)) / samples.sum() + 1e-20)
    beyond = np.arange(len(shape)) * 256 / (1 << 16) >= len(COSINES[window.name])
    return float(shape[beyond].max())
