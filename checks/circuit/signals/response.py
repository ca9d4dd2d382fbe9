"""Gain, response, impedances and the gain of each stage of a nominal build."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from checks.circuit.signals.transfer import driving_ohms, small_signal, transfer
from checks.circuit.solver.operating_point import Operating
from checks.errors import ChecksError
from checks.finite import finite_arguments

LOWEST, HIGHEST, A_DECADE = 0.1, 3e6, 12
DROPS = (1.0, 3.0)  # dB


@dataclass(frozen=True)
class Response:
    """From the input to a pair of points: gain at `hertz`, and where it has fallen by 1 dB and 3 dB (Hz; None where it
    has not, as far as is looked). Impedances in ohms at `hertz`; the output's with the input shorted."""

    hertz: float
    gain: complex
    low_1: float | None
    low_3: float | None
    high_1: float | None
    high_3: float | None
    input_ohms: complex
    output_ohms: complex

    @property
    def decibels(self) -> float:
        return 20 * math.log10(abs(self.gain))


@dataclass(frozen=True)
class StageGain:
    """A valve's section: volts at its anode for one at its grid, at its cathode for one at its grid, and at its anode
    for one at the input."""

    ref: str
    section: str
    gain: complex
    to_cathode: complex
    from_input: complex


def respond(operating: Operating, red: str, black: str, hertz) -> np.ndarray:
    """Gain (complex) from the input to a pair of points at each frequency, in the first sample."""
    linear, ends = small_signal(operating), [operating.net.node(end) for end in (red, black)]
    return np.array([transfer(linear, f).between(*ends)[0] for f in np.atleast_1d(hertz)])


@finite_arguments
def frequency_response(operating: Operating, red: str, black: str = "chassis", hertz: float = 1000.0) -> Response:
    """The response of the first sample of an operating point."""
    linear, at = small_signal(operating), operating.net.node(red)
    back = operating.net.node(black)

    def gain(f: float) -> complex:
        return complex(transfer(linear, f).between(at, back)[0])

    middle = gain(hertz)
    if abs(middle) < 1e-12:
        raise ChecksError("No signal reaches these points.", argument="red", code="no-signal-there")
    low_1, low_3 = (_corner(gain, middle, hertz, drop, LOWEST) for drop in DROPS)
    high_1, high_3 = (_corner(gain, middle, hertz, drop, HIGHEST) for drop in DROPS)
    inward = complex(1 / transfer(linear, hertz).inward[0])
    outward = complex(driving_ohms(linear, hertz, at, back)[0])
    return Response(hertz, middle, low_1, low_3, high_1, high_3, inward, outward)


def _corner(gain, middle: complex, hertz: float, drop: float, end: float) -> float | None:
    """The first frequency from `hertz` towards `end` at which the gain is `drop` dB below the middle's."""
    count = math.ceil(abs(math.log10(end / hertz)) * A_DECADE)
    steps = np.geomspace(hertz, end, count + 1)

    def above(log: float) -> float:
        return 20 * math.log10(max(abs(gain(math.exp(log))), 1e-300) / abs(middle)) + drop

    before = math.log(hertz)
    for step in steps[1:]:
        after = math.log(step)
        if above(after) <= 0:
            return math.exp(brentq(above, *sorted((before, after)), xtol=1e-9))
        before = after
    return None


@finite_arguments
def stage_gains(operating: Operating, hertz: float = 1000.0) -> list[StageGain]:
    """Of every valve section that the signal reaches, in the parts list's order."""
    gains = transfer(small_signal(operating), hertz)
    rows = []
    for valve in operating.net.valves:
        grid, anode, cathode = (complex(gains.at(n)[0]) for n in (valve.grid, valve.anode, valve.cathode))
        if abs(grid) > 1e-9:
            rows.append(StageGain(valve.ref, valve.name, anode / grid, cathode / grid, anode))
    return rows
