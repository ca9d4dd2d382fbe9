"""What a sound card's input lets through of low frequencies: a coupling capacitor or a low cut of the first order takes
hum as it takes everything else, and a recording of silence shows no trace of it. A sweep through the card does.

A loop-back tells what the card takes, so that it is put back. A sweep of the amplifier through the same card tells what
both take together: where the amplifier raises no bass, the most that the card can have taken. Where there is neither, a
microphone input's usual coupling is assumed at most (common practice).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from checks.derived import Estimate
from checks.finite import finite_arguments, real_arguments
from checks.tone.hum import Hum
from checks.tone.weighting import a_weighting_power

USUAL_CUT = 120.0  # hertz of the first-order cut assumed where nothing is known
MOST = 20.0  # dB that are put back: what is weaker lies in the card's own noise
RESIDUE = 0.1  # share of what is put back, that stays uncertain
SURE = 1.645  # standard deviations that 95 % of a normal distribution lies below


@dataclass(frozen=True)
class Passage:
    """Levels in dB re 1 kHz over frequency; `is_card`: of the card alone, not of the amplifier and the card."""

    hertz: tuple[float, ...]
    levels: tuple[float, ...]
    is_card: bool

    def loss(self, hertz: float) -> float:
        """dB that are lost at a frequency; of an amplifier that rises there, none."""
        level = float(np.interp(math.log(hertz), np.log(self.hertz), self.levels))
        return min(MOST, max(0.0, -level))


@finite_arguments
def first_order_cut(corner: float) -> Passage:
    hertz = np.geomspace(8.0, 20_000.0, 240)
    levels = -10 * np.log10(1 + (corner / hertz) ** 2)
    return Passage(tuple(map(float, hertz)), tuple(map(float, levels)), False)


UNKNOWN = first_order_cut(USUAL_CUT)


@real_arguments
def times_through(hum: Hum, power: float, passage: Passage, *, weighted: bool = False) -> float:
    """How many times a level of `power` (mean square) that holds the hum is, with what its lines lost."""
    more = sum(
        line.rms**2 * _weight(line.hertz, weighted) * (10 ** (passage.loss(line.hertz) / 10) - 1) for line in hum.lines
    )
    return math.sqrt(1 + more / power) if power > 0 else 1.0


def _weight(hertz: float, weighted: bool) -> float:
    return float(a_weighting_power(np.array([hertz]))[0]) if weighted else 1.0


@real_arguments
def with_loss(figure: Estimate, times: float, passage: Passage) -> Estimate:
    """Put back where it is the card's; else the figure may be that much greater, and passes where it still would."""
    more = figure.value * (times - 1)
    if passage.is_card:
        return Estimate(figure.value + more, math.hypot(figure.u * times, RESIDUE * more))
    return Estimate(figure.value, math.hypot(figure.u, more / SURE))


def without_card(hertz: Iterable[float], levels: Iterable[float], card: Passage) -> list[float]:
    """A response's levels without what the card takes."""
    logs = np.log(np.asarray(list(hertz), dtype=float))
    own = np.interp(logs, np.log(card.hertz), card.levels)
    return [float(level) for level in np.asarray(list(levels), dtype=float) - np.clip(own, -MOST, MOST)]
