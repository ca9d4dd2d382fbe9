"""What differs from one good build to the next: every part's multiplier, its range and the shape of its scatter.

Shapes: a part sold to limits is rectangular between them (JCGM 101:2008, 6.4.2: only limits are known). A valve's
strength (and its heater's current) is normal to either side, with the sheet's acceptance limits at two standard
deviations, and cut off there.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import ndtr, ndtri

from checks.finite import refuse_unreal

CUT = 2.0


class Assumed(StrEnum):
    """What an assumed range is of."""

    VALUE = "value"
    WINDING_VOLTS = "winding volts"
    WINDING_OHMS = "winding ohms"
    CHOKE_OHMS = "choke ohms"
    FUSE_OHMS = "fuse ohms"
    LAMP_OHMS = "lamp ohms"
    LEAKAGE = "leakage"
    DIODE_DROP = "diode drop"
    VALVE_CURRENT = "valve current"
    SCREEN_CURRENT = "screen current"
    RECTIFIER_CURRENT = "rectifier current"
    HEATER_CURRENT = "heater current"
    CONTACT_POTENTIAL = "contact potential"
    CAPACITANCE = "capacitance"
    INDUCTANCE = "inductance"
    VALVE_CAPACITANCES = "valve capacitances"
    AMPLIFICATION = "amplification"
    THERMISTOR_OHMS = "thermistor ohms"
    OFFSET = "offset"
    THRESHOLD = "threshold"
    TRANSCONDUCTANCE = "transconductance"
    CURRENT_GAIN = "current gain"
    BASE_VOLTS = "base volts"


@dataclass(frozen=True)
class Parameter:
    """One multiplier, 1 at nominal, from 1 - minus to 1 + plus; `shape` is "rectangular" or "normal".

    `assumed` says of what a range stands for, where the parts list and published data state none.
    """

    ref: str
    what: str
    minus: float
    plus: float
    shape: str = "rectangular"
    assumed: Assumed | None = None

    def __post_init__(self):
        refuse_unreal(self, "minus", "plus", least=0)

    def multiplier(self, uniform):
        """Multipliers for numbers in (0, 1): the inverse of the distribution."""
        if self.shape == "rectangular":
            return 1 - self.minus + (self.minus + self.plus) * uniform
        edge = ndtr(-CUT)
        z = ndtri(edge + (1 - 2 * edge) * uniform) / CUT
        return 1 + np.where(z < 0, self.minus, self.plus) * z


@dataclass(frozen=True)
class Parameters:
    """All parameters of a kit in the parts list's order; index(ref, what) finds one, and `fixed` never varies."""

    rows: tuple[Parameter, ...]

    @property
    def fixed(self) -> int:
        return len(self.rows)

    def index(self, ref: str, what: str) -> int:
        return self._places().get((ref, what), self.fixed)

    def _places(self) -> dict:
        if "_map" not in self.__dict__:
            object.__setattr__(self, "_map", {(p.ref, p.what): n for n, p in enumerate(self.rows)})
        return self.__dict__["_map"]

    def nominal(self):
        """Shape (1, parameters + 1), all ones."""
        return np.ones((1, len(self.rows) + 1))

    def draw(self, samples: int, seed: int):
        """Shape (samples, parameters + 1); the last column, for what never varies, is one."""
        uniform = np.random.default_rng(seed).random((samples, len(self.rows)))
        columns = [p.multiplier(uniform[:, n]) for n, p in enumerate(self.rows)]
        return np.column_stack([*columns, np.ones(samples)])

    def one_at_a_time(self):
        """Shape (2 x parameters, parameters + 1): each at its low end, then each at its high end, all others
        nominal."""
        count = len(self.rows)
        values = np.ones((2 * count, count + 1))
        for n, p in enumerate(self.rows):
            values[n, n], values[count + n, n] = 1 - p.minus, 1 + p.plus
        return values
