"""What the steps of a file leave uncertain in a weak silence: rounding makes noise of its own, and hides what lossy
compression or noise suppression would leave of a codec's own traces.

Rounding with triangular dither makes a quarter of a step's square. The share of it in what was measured may have been
the amplifier's or not (rectangular, JCGM 100:2008, 4.3.7). Where rounding is much of the noise, the noise cannot tell
of compression either; codecs tried on hum under such noise took up to 1.2 dB of it.
"""

import math
from dataclasses import replace

from checks.finite import real_arguments
from checks.tone.hum import Hum
from checks.tone.noise import Noise

DITHERED = 0.25  # of a step's square
MOST = 0.9  # share of the noise, above which nothing more is known of it
MUCH = 0.2  # share of the noise, from which rounding hides what else was done
TAKEN = 0.6  # dB, standard uncertainty of hum for what a codec may have taken


@real_arguments
def with_rounding(noise: Noise, hum: Hum, density: float, rate: int, step: float) -> tuple[Noise, Hum]:
    """Both with their uncertainty for a file of steps of `step`; `density` is the mean square of noise in a hertz."""
    rounding = DITHERED * step**2
    share = min(MOST, rounding / max(density * rate / 2, 1e-300))
    noise = replace(noise, u=math.hypot(noise.u, -10 * math.log10(1 - share) / math.sqrt(3)))
    if share < MUCH or not hum.total:
        return noise, hum
    hidden = math.hypot(10 * math.log10(1 + rounding / hum.total**2) / math.sqrt(3), TAKEN)
    return noise, replace(hum, lines=tuple(replace(line, u=math.hypot(line.u, hidden)) for line in hum.lines))
