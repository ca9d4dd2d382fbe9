"""Noise that stands about a tone as lossy compression leaves it: what rounds the strongest part of a spectrum roughly
spreads noise about it, tens of hertz wide, and may erase a weak harmonic without a trace elsewhere.

A card's clock, too, spreads a tone by its jitter, and more the higher the tone; a valve's noise rises towards low
frequencies. Both are allowed for.
"""

import numpy as np

from checks.finite import real_arguments
from checks.tone.spectrum import Spectrum

NEAR, FAR = (30.0, 110.0), (350.0, 600.0)  # hertz from the tone, on either side
BETWEEN = (1.4, 1.6)  # times the tone, between it and its second harmonic
QUANTILE = 0.25  # of a stretch's bins: its noise, however many lines of hum stand in it
LOWEST = 20.0  # hertz
RAISED = 6.0  # times in power (8 dB) by which noise beside the tone is raised, the slope of flicker noise allowed for
FLICKER = 2.0  # power of the frequency by which a valve's noise falls at most
LEAST = 1e-10  # of the tone's power in a hertz (-100 dB): what is below it has moved no harmonic that counts
JITTER = 1e-9, 10_000.0  # the same at hertz, and with their square: as 9 ns of jitter spread a tone over 200 Hz
FEWEST = 12  # bins of a stretch


@real_arguments
def skirt_of_tone(spectrum: Spectrum, hertz: float, rms: float) -> float:
    """How many times the noise about a tone is that farther away; 0 where it is not raised as compression raises it."""
    beside = max(NEAR[0], 1.2 * spectrum.half_lobe)
    near = _noises(spectrum, [(hertz - NEAR[1], hertz - beside), (hertz + beside, hertz + NEAR[1])])
    far = _noises(
        spectrum,
        [
            (hertz - FAR[1], hertz - FAR[0]),
            (hertz + FAR[0], hertz + FAR[1]),
            (BETWEEN[0] * hertz, BETWEEN[1] * hertz),
        ],
    )
    if not near or not far:
        return 0.0
    times = max(
        level / max(other, 1e-300) / max(1.0, (place / middle) ** FLICKER)
        for middle, level in near
        for place, other in far
    )
    least = rms**2 * max(LEAST, JITTER[0] * (hertz / JITTER[1]) ** 2)
    is_heard = max(level for _middle, level in near) > least
    return times if is_heard and times > RAISED else 0.0


def _noises(spectrum: Spectrum, stretches: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """(middle in hertz, mean square in a hertz) of the stretches that the recording has."""
    width, levels = spectrum.bin_width, []
    for low, high in stretches:
        first, last = round(max(low, LOWEST) / width), round(min(high, spectrum.rate / 2 - spectrum.half_lobe) / width)
        if last - first >= FEWEST:
            level = float(np.quantile(spectrum.power[first:last], QUANTILE))
            levels.append(((low + high) / 2, level / (spectrum.window.noise_bandwidth * width)))
    return levels
