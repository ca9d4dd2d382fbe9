"""Chokes and signal transformers at a frequency.

A transformer's windings share one core: each piece k of n_k turns carries i_k = y_k (v_k - n_k e) with y_k = 1/(R_k +
jωL_k), its own ohms and leakage inductance, where e is the core's volts a turn. The magnetising current closes the sum,
Σ n_k i_k = e n²/jωL for the winding whose inductance L the parts list gives. Taking e out leaves admittances between
all pieces, y_i δ_ij - n_i n_j y_i y_j / (Σ n² y + n²/jωL). Turns go as the square root of the impedances that the list
gives; a transformer without them is nothing but its ohms. Capacitances and losses of the core are left out.
"""

import math
from dataclasses import dataclass

from checks.circuit.netlist.network import Network, winding_ohms
from checks.circuit.netlist.parts import PartSpec, require_figure
from checks.finite import finite_figures


@finite_figures
@dataclass(frozen=True)
class Coil:
    """One piece of a winding, or a choke: turns (0 of a choke), ohms and henries with their parameters."""

    a: int
    b: int
    turns: float
    ohms: float
    ohms_at: int
    henries: float
    henries_at: int

    def siemens(self, m, omega: float):
        return 1 / (self.ohms * m[:, self.ohms_at] + 1j * omega * self.henries * m[:, self.henries_at])


@finite_figures
@dataclass(frozen=True)
class Core:
    """Coils on one core. `magnetising` is n²/L of the winding with the inductance given, 0 of an endless one."""

    ref: str
    coils: tuple[Coil, ...]
    magnetising: float = 0.0
    magnetising_at: int = 0

    def admittances(self, m, omega: float):
        """Yield (coil, other coil, siemens (samples,)): the current in one for each volt across the other."""
        own_siemens = [coil.siemens(m, omega) for coil in self.coils]
        if not any(coil.turns for coil in self.coils):
            yield from ((coil, coil, y) for coil, y in zip(self.coils, own_siemens, strict=True))
            return
        whole = sum(coil.turns**2 * y for coil, y in zip(self.coils, own_siemens, strict=True))
        whole = whole + self.magnetising / (1j * omega * m[:, self.magnetising_at])
        for one, own in zip(self.coils, own_siemens, strict=True):
            for other, beside in zip(self.coils, own_siemens, strict=True):
                shared = -one.turns * other.turns * own * beside / whole
                yield one, other, own + shared if one is other else shared


def list_cores(net: Network) -> tuple[Core, ...]:
    """The fitted chokes and signal transformers of a network."""
    fitted = [p for p in net.parts if p.ref not in net.condition.not_fitted]
    return tuple(core for p in fitted for core in _cores(p, net))


def _cores(part: PartSpec, net: Network):
    index, warmth = net.parameters.index, net.condition.winding_factor
    if part.kind == "inductor":
        a, b = (net.nodes[n] for n in part.joins.values())
        ohms = require_figure(part.ohms) * warmth
        coil = Coil(a, b, 0.0, ohms, index(part.ref, "ohms"), require_figure(part.value), index(part.ref, "henries"))
        yield Core(part.ref, (coil,))
    elif part.kind == "output transformer" and any(w.impedance for w in part.windings):
        coils = tuple(coil for w in part.windings for coil in _pieces(part, w, net))
        known = next((w for w in part.windings if w.inductance and w.impedance), None)
        magnetising = require_figure(known.impedance) / require_figure(known.inductance) if known else 0.0
        yield Core(part.ref, coils, magnetising, index(part.ref, "henries"))


def _pieces(part: PartSpec, winding, net: Network):
    index, pieces = net.parameters.index, len(winding.nodes) - 1
    nodes = [net.nodes[n] for n in winding.nodes]
    ohms = winding_ohms(part, winding, net.condition.winding_factor) / pieces
    turns = math.sqrt(winding.impedance or 0.0) / pieces
    leaks = (winding.leakage_inductance or 0.0) / pieces
    at = index(part.ref, f"{winding.name} ohms"), index(part.ref, f"{winding.name} leakage henries")
    for a, b in zip(nodes[:-1], nodes[1:], strict=True):
        if a != b:
            yield Coil(a, b, turns, ohms, at[0], leaks, at[1])
