"""A network at work: mains in, drive of the windings, DC solution, alternating volts."""

from dataclasses import dataclass, replace

import numpy as np

from checks.circuit.devices.neons import Neon, light
from checks.circuit.netlist.conditions import LAMP_EXPONENT
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.parts import require_figure
from checks.circuit.rectifiers.conduction import reservoir_share
from checks.circuit.solver.heaters import NOMINAL_STEP, ROUNDS, SAMPLES_STEP, hot_multipliers
from checks.circuit.solver.newton import Solution, reduce, solve
from checks.circuit.solver.thermistors import warmed
from checks.circuit.solver.windings import by_feed, compute_load
from checks.finite import finite_arguments

SHARE_MATTERS = 5e-4
LAMP_ROUNDS = 40


@dataclass(frozen=True)
class Operating:
    """DC in `solution`; `ac` holds alternating node volts (samples, nodes + 1), signed by phase. `line` is at the
    primary."""

    net: Network
    solution: Solution
    ac: np.ndarray
    line: float

    @property
    def volts(self):
        return self.solution.volts


@finite_arguments
def solve_operating_point(
    net: Network, m, *, line: float | None = None, start=None, strict: bool = True, rungs=(20, 100)
) -> Operating:
    """Solve `net` for multipliers m. `line` (of the reference, at the primary) is the condition's unless given.

    Not `strict`, samples that do not settle are NaN instead of an error; `rungs` as in `solve`. Heaters are given the
    resistance they have at their volts, thermistors that at their current, and neon lamps strike: each takes rounds of
    its own where it is far from the nominal build's.
    """
    line = net.condition.line_factor if line is None else line
    hot = m * np.array(net.heater_factors) if net.heater_factors else m
    point = _at(net, hot, line, start, strict, rungs)
    for _ in range(ROUNDS):
        next_hot = _with_heat_of(net, m, hot, point)
        if np.abs(next_hot / hot - 1).max(initial=0.0) < (NOMINAL_STEP if len(m) == 1 else SAMPLES_STEP):
            break
        hot = next_hot
        point = _at(net, hot, line, point.solution.ports, strict, rungs)
    return point


def _with_heat_of(net: Network, m, hot, point: Operating):
    """Multipliers with heaters, thermistors and neon lamps as an operating point found with `hot` leaves them."""
    next_hot = hot_multipliers(net, m, point.volts, point.ac)
    for thermistor in (p for p in net.parts if p.kind == "thermistor"):
        column = net.parameters.index(thermistor.ref, "ohms")
        next_hot[:, column] = hot[:, column]
    for neon in (d for d in net.junctions if isinstance(d, Neon)):
        next_hot[:, neon.lit] = hot[:, neon.lit]
    next_hot = warmed(net, m, next_hot, point.volts, point.ac, lambda: feed_amps(point))
    return light(net, next_hot, point.solution.currents)


def _at(net: Network, m, line: float, start, strict: bool, rungs) -> Operating:
    reduced = reduce(net, m)
    load = compute_load(net, m, reduced.mains[..., : len(net.feeds)])
    at_primary = line * m[:, net.parameters.index("line", "volts")]
    solution = solve(reduced, load.drive(at_primary), start, strict, rungs)
    drawn = drawn_watts(solution)
    drive = load.drive(
        at_primary, by_feed(net, drawn, [r.mains_ohms(m) / net.feeds[r.feed].volts ** 2 for r in net.rectifiers])
    )
    return Operating(net, solution, _alternating(net, reduced, m, drive, drawn), line)


def drawn_watts(solution: Solution):
    """W that each rectifier draws from its winding (samples, rectifiers)."""
    net, m, at, rows = solution.reduced.net, solution.reduced.m, 0, [np.zeros((len(solution.ports), 0))]
    for bank in net.banks:
        width = len(bank.ports)
        rows.append(bank.flow(solution.ports[:, at : at + width], m, solution.drive)[2])
        at += width
    return np.concatenate(rows, axis=1)


def _alternating(net, reduced, m, drive, drawn):
    count = len(net.feeds)
    volts = np.einsum("snt,st->sn", reduced.mains[..., :count], drive)
    for n, r in enumerate(net.rectifiers):
        rms = np.maximum(r.peak(m, drive), 1e-9) / np.sqrt(2)
        volts = volts + reduced.mains[..., count + n] * (drawn[:, n] / rms)[:, None]
    return volts


def primary_amps(operating: Operating) -> float:
    """rms A in the primaries of a nominal solution, without the magnetising current."""
    net, solution = operating.net, operating.solution
    load = compute_load(net, solution.reduced.m, solution.reduced.mains[..., : len(net.feeds)])
    return float(load.primary_amps(solution.drive, by_feed(net, drawn_watts(solution)))[0])


def feed_amps(operating: Operating):
    """rms A in each primary (samples, transformers), without the magnetising current."""
    net, solution = operating.net, operating.solution
    load = compute_load(net, solution.reduced.m, solution.reduced.mains[..., : len(net.feeds)])
    pulses = by_feed(net, drawn_watts(solution)) / (load.volts * np.maximum(solution.drive, 1e-6))
    return load.amps * solution.drive + pulses


def solve_reservoirs(net: Network) -> tuple[Network, Operating]:
    """(the network with its reservoirs' shares, its nominal operating point), through the lamp where there is one."""
    m = net.parameters.nominal()
    point = _through_lamp(net, m) if net.condition.lamp_watts else solve_operating_point(net, m)
    net = _with_heaters(net, point, m)
    point = replace(point, net=net)
    shared = _with_shares(point)
    if shared is net:
        return net, point
    return shared, solve_operating_point(shared, m, line=point.line, start=point.solution.ports)


def _with_heaters(net: Network, point: Operating, m) -> Network:
    """The network with its heaters as a nominal operating point has them, for others to begin from."""
    factors = (point.solution.reduced.m / m)[0]
    for neon in (d for d in net.junctions if isinstance(d, Neon)):
        factors[neon.lit] = 1.0  # each build's lamps strike by themselves
    return replace(net, heater_factors=tuple(factors))


def _through_lamp(net: Network, m) -> Operating:
    """Share the line between lamp and primary: the lamp's I ~ V^0.55 against the primary's current, by bisection."""
    condition, low, high = net.condition, 0.0, net.condition.line_factor
    rated, start = require_figure(condition.lamp_watts) / condition.reference_volts, None
    for _ in range(LAMP_ROUNDS):
        middle = (low + high) / 2
        point = solve_operating_point(net, m, line=middle, start=start)
        start, net = point.solution.ports, _with_heaters(net, point, m)
        lamp = rated * (condition.line_factor - middle) ** LAMP_EXPONENT
        low, high = (middle, high) if primary_amps(point) < lamp else (low, middle)
        if high - low < 1e-7:
            break
    return point


def _with_shares(point: Operating) -> Network:
    """Replace each rectifier's share where its reservoir is small for its load."""
    net, solution, m = point.net, point.solution, point.solution.reduced.m
    shares = {}
    for n, r in enumerate(net.rectifiers):
        volts = float(solution.ports[0, n])
        amps = float(
            sum(
                solution.currents[0, k]
                for k, other in enumerate(net.rectifiers)
                if (other.feed, other.reservoir) == (r.feed, r.reservoir)
            )
        )
        peak, ohms = float(r.peak(m, solution.drive)[0]), float(r.charging_ohms(m)[0])
        loaded = r.farads and volts > 0 and amps > 1e-9
        shares[r] = (
            reservoir_share(peak, ohms, r.farads, volts / amps, net.condition.hertz, r.law_of, r.halves)
            if loaded
            else 1.0
        )
    if all(abs(share - 1) < SHARE_MATTERS for share in shares.values()):
        return net
    return replace(net, banks=tuple(_shared(bank, shares) for bank in net.banks))


def _shared(bank, shares):
    rows = tuple(replace(r, share=shares[r]) for r in bank.members)
    return rows[0] if bank.members == (bank,) else replace(bank, members=rows)
