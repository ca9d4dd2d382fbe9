"""What differs from one good build to the next: every part's multiplier, its range and the shape of its scatter.

Shapes: a part sold to limits is rectangular between them (JCGM 101:2008, 6.4.2: only limits are known). A valve's
strength (and its heater's current) is normal to either side, with the sheet's acceptance limits at two standard
deviations, and cut off there. Where a parts list states no limits for iron, windings are within 3 % of their volts and
10 % of their ohms (common practice).
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from checks.circuit.netlist.forward_drop import DROP_SPREAD, is_led
from checks.circuit.netlist.parts import PartSpec
from checks.circuit.netlist.terminals import SECTIONS
from checks.circuit.valves.types import spread_of

WINDING_OHMS, WINDING_VOLTS, OTHER_OHMS, LEAKAGE = 0.10, 0.03, 0.20, 0.5
HEATER_AMPS = 0.08  # current-production sheets accept 7 to 10 %
RECTIFIER = 0.20  # perveance of a rectifier valve (common practice)
CUT = 2.0
GRID_LEAK = 3.3e6  # Ω: with so much before it a grid is biased by its own current (common practice)
CONTACT = 0.2  # V either way between valves (assumed; sheets let the grid current start anywhere up to -1.3 V)


@dataclass(frozen=True)
class Parameter:
    """One multiplier, 1 at nominal, from 1 - minus to 1 + plus; `shape` is "rectangular" or "normal"."""

    ref: str
    what: str
    minus: float
    plus: float
    shape: str = "rectangular"

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


def parameters_of(parts: list[PartSpec], line_spread: float = 0.0) -> Parameters:
    leaks = {n for p in parts if p.kind == "resistor" and p.value >= GRID_LEAK for n in p.joins.values()}
    rows = [
        row
        for part in parts
        for row in (*_of(part), *_contacts(part, leaks))
        if row.minus or row.plus or row.what == "heater amps"
    ]
    if line_spread:
        rows.append(Parameter("line", "volts", line_spread, line_spread))
    return Parameters(tuple(rows))


def _of(part: PartSpec):
    if part.kind in ("resistor", "potentiometer", "zener"):
        yield Parameter(part.ref, "value", part.tolerance.minus, part.tolerance.plus)
    elif part.kind in ("fuse", "lamp"):
        yield Parameter(part.ref, "ohms", OTHER_OHMS, OTHER_OHMS)
    elif part.kind == "diode" and (part.model or is_led(part)):
        yield Parameter(part.ref, "drop", DROP_SPREAD, DROP_SPREAD)
    elif part.kind == "inductor":
        yield Parameter(part.ref, "ohms", WINDING_OHMS, WINDING_OHMS)
    elif part.leakage and part.kind in ("capacitor", "electrolytic"):
        yield Parameter(part.ref, "leakage", LEAKAGE, LEAKAGE)
    elif part.windings:
        yield from _of_transformer(part)
    elif part.kind in SECTIONS:
        yield from _of_valve(part)


def _contacts(part: PartSpec, leaks: set[str]):
    """How far the contact potential of grids on a large grid leak lies from the usual, in V."""
    for section, names in SECTIONS.get(part.kind, {}).items():
        start = f"{section}." if section else ""
        if "grid" in names and part.joins[f"{start}grid"] in leaks:
            yield Parameter(part.ref, f"{section} contact".strip(), CONTACT, CONTACT)


def _of_transformer(part: PartSpec):
    for winding in part.windings:
        yield Parameter(part.ref, f"{winding.name} ohms", WINDING_OHMS, WINDING_OHMS)
        if winding.volts and winding.name != "primary":
            yield Parameter(part.ref, f"{winding.name} volts", WINDING_VOLTS, WINDING_VOLTS)


def _of_valve(part: PartSpec):
    if part.kind == "rectifier valve":
        yield Parameter(part.ref, "strength", RECTIFIER, RECTIFIER, "normal")
    else:
        minus, plus = spread_of(part.type)
        for section in SECTIONS[part.kind]:
            yield Parameter(part.ref, f"{section} strength".strip(), minus, plus, "normal")
        if part.kind == "pentode":
            yield Parameter(part.ref, "screen share", minus / 2, plus / 2, "normal")
    yield Parameter(part.ref, "heater amps", HEATER_AMPS, HEATER_AMPS, "normal")
