"""Readings of a network under many faults at once: with good parts' scatter, and of nominal parts through a meter."""

from dataclasses import dataclass, field, replace

import numpy as np

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.network import Network, Resistive
from checks.circuit.signals.reading import signal_volts
from checks.circuit.solver.conductances import conductances
from checks.circuit.solver.newton import flows, port_places
from checks.circuit.solver.operating_point import Operating, solve_operating_point, solve_reservoirs
from checks.diagnosis.codes import Parasitic
from checks.diagnosis.parasitics import BLOCKING, NOWHERE
from checks.diagnosis.reading_scale import OPEN_OHMS
from checks.errors import CallerError

CHUNK = 1500
METER_OHMS = 1e7  # of the digital meters that nearly every builder has (common practice)
GROWTH = (
    0.1,
    0.2,
    0.3,
    0.4,
    0.55,
    0.7,
    0.85,
    1.0,
)  # of a fault, on a logarithmic scale, where it does not settle at once
CHANGED = 0.1  # of a healthy reading, within which a fault leaves the source as it is
OPENS = 100.0  # times its resistance, from which a fault may leave a point in the air: it reads as before, unloaded
FORWARD_SHARE = 0.2  # of an ohmmeter's volts, that turn on a diode
WITH_PART = (Parasitic.GAS, Parasitic.HALF)  # what is gone with its part
LARGEST_SOURCE = 1e11  # Ω
LEAST_VOLTS = 0.02  # a healthy reading below this tells nothing of its source's resistance


@dataclass(frozen=True)
class Variant:
    """A fault at one size: which part, and what multiplies what."""

    refs: tuple[str, ...]
    moves: tuple  # of Move
    factors: tuple[float, ...]

    @classmethod
    def of(cls, fault, factors=None):
        return cls(fault.refs, fault.moves, tuple(move.factor for move in fault.moves) if factors is None else factors)

    def applied(self, m, net):
        """Multipliers `m` (rows, parameters + 1) with the fault in."""
        m = m.copy()
        for move, factor in zip(self.moves, self.factors, strict=True):
            if move.part_of in WITH_PART and not net.condition.not_fitted.isdisjoint(self.refs):
                continue  # the gas is in the valve, and the valve in its box; a diode in the bag shorts nothing
            column = net.parameters.index(move.ref, move.what)
            if column != net.parameters.fixed:
                m[:, column] *= factor
        return m


HEALTHY = Variant((), (), ())


@dataclass
class Bench:
    """A network with its reservoirs' shares, and its nominal operating point (None with the power off). `solved` are
    port volts of faults that settled, to begin from."""

    parts: list
    net: Network
    nominal: Operating | None = None
    solved: dict[Variant, np.ndarray] = field(default_factory=dict)

    @property
    def operating(self) -> Operating:
        """The nominal operating point of a bench with its power on. Raises ChecksError with it off."""
        if self.nominal is None:
            raise CallerError("With the power off there is no operating point.", argument="condition")
        return self.nominal

    @classmethod
    def of(cls, parts, condition):
        net = build_network(parts, condition)
        return cls(parts, net) if condition.power == "off" else cls(parts, *solve_reservoirs(net))


def settle_like(net: Network, known: Network) -> Network:
    """A network with the reservoirs' shares and the heaters of another, whose parts it has."""
    factors = np.ones(net.parameters.fixed + 1)
    for row, factor in zip(known.parameters.rows, known.heater_factors, strict=False):
        factors[net.parameters.index(row.ref, row.what)] = factor
    factors[-1] = 1.0
    return replace(net, banks=known.banks, heater_factors=tuple(factors))


def simulate_scatter(bench: Bench, places, variants, ports, samples: int, seed: int):
    """(variants, samples, places) in SI: over range is OPEN_OHMS, what does not settle NaN. `ports` (variants, ports)
    are those of nominal parts, close to which a fault's builds begin."""
    net = bench.net
    base = net.parameters.draw(samples, seed)
    if not places or not variants:
        return np.zeros((len(variants), samples, len(places)))
    m = np.concatenate([variant.applied(base, net) for variant in variants])
    chunks = [slice(n, n + CHUNK) for n in range(0, len(m), CHUNK)]
    if bench.nominal is None:
        rows = [resistances(net, places, m[chunk]) for chunk in chunks]
    else:
        starts = np.repeat(ports, samples, axis=0)
        rows = [_volts(net, bench.nominal.line, places, m[chunk], starts[chunk]) for chunk in chunks]
    return np.concatenate(rows).reshape(len(variants), samples, len(places))


def _volts(net, line, places, m, start, rungs=()):
    point = solve_operating_point(net, m, line=line, start=start, strict=False, rungs=rungs)
    return np.stack([_reading(net, point, place, m) for place in places], axis=1)


def _reading(net, point, place, m):
    red, black = net.node(place.probe.red), net.node(place.probe.black)
    if place.probe.measure == "ac volts" and net.condition.signal is not None:
        return signal_volts(point, red, black, place.probe.level, place.probe.hertz, place.probe.under)
    if place.probe.measure == "ac volts":
        return np.abs(point.ac[:, red] - point.ac[:, black])
    volts = point.volts[:, red] - point.volts[:, black]
    return volts / _through(net, place) if place.probe.measure == "current" else volts


def _through(net, place) -> float:
    """A current is read by its volts over the resistor the builder believes in: the nominal one."""
    return next(r for r in net.resistives if r.ref == place.probe.through).ohms


def resistances(net, places, m):
    """(rows, places) in Ω of an unpowered network."""
    ends, volts = _injected(net, places, m)
    ohms = np.stack([volts[:, red, n] - volts[:, black, n] for n, (red, black) in enumerate(ends)], axis=1)
    return np.minimum(np.maximum(ohms, 0.0), OPEN_OHMS)


def _injected(net, places, m):
    """(ends of each place, volts (rows, nodes, places) with 1 A put in at its red end and taken out at its black)."""
    g = conductances(net, m)
    inward = np.zeros((net.size + 1, len(places)))
    ends = [(net.node(p.probe.red), net.node(p.probe.black)) for p in places]
    for n, (red, black) in enumerate(ends):
        inward[red, n] += 1.0
        inward[black, n] -= 1.0
    volts = np.linalg.solve(g, np.broadcast_to(inward[:-1], (len(g), net.size, len(places))))
    return ends, np.concatenate((volts, np.zeros((len(g), 1, len(places)))), axis=1)


def find_turned_on(bench: Bench, places) -> dict[str, np.ndarray]:
    """Diode -> (places,): does an ohmmeter with red at the red end bias it forward, by a good share of its volts?"""
    ends, volts = _injected(bench.net, places, bench.net.parameters.nominal())
    across = np.array([volts[0, red, n] - volts[0, black, n] for n, (red, black) in enumerate(ends)])
    forward = {}
    for part in bench.parts:
        if (
            part.kind in BLOCKING
            and part.joins["anode"] in bench.net.nodes
            and part.joins["cathode"] in bench.net.nodes
        ):
            anode, cathode = (bench.net.nodes[part.joins[end]] for end in ("anode", "cathode"))
            forward[part.ref] = volts[0, anode] - volts[0, cathode] > FORWARD_SHARE * across
    return forward


def simulate_middles(bench: Bench, places, variants, rungs=(20,)):
    """(readings (variants, places) of nominal parts without a meter, ports). `rungs`: how hard to try, as in
    operate."""
    net = bench.net
    m = np.concatenate([variant.applied(net.parameters.nominal(), net) for variant in variants])
    if bench.nominal is None:
        return np.concatenate([resistances(net, places, m[n : n + CHUNK]) for n in range(0, len(m), CHUNK)]), None
    nominal = bench.operating.solution.ports[0]
    ports = np.stack([bench.solved.get(variant, nominal) for variant in variants])
    bare, ports = _solve_from(bench, places, m, ports, ())
    late = np.flatnonzero(np.isnan(bare).any(axis=1))
    if len(late) and rungs:
        bare[late], ports[late] = _solve_growing(bench, places, m[late], rungs)
    settled = np.flatnonzero(~np.isnan(bare).any(axis=1))
    bench.solved.update({variants[n]: ports[n] for n in settled})
    return bare, ports


def _solve_from(bench: Bench, places, m, ports, rungs):
    point = solve_operating_point(bench.net, m, line=bench.operating.line, start=ports, strict=False, rungs=rungs)
    return np.stack([_reading(bench.net, point, place, m) for place in places], axis=1), point.solution.ports


def _solve_growing(bench: Bench, places, m, rungs):
    """Faults that do not settle at once are let grow, each step beginning where the one before it ended."""
    ports = np.repeat(bench.operating.solution.ports, len(m), axis=0)
    for share in GROWTH:
        grown = np.where(m > 0, np.abs(m) ** share, 1 + (m - 1) * share)  # below zero: a supply turned round
        bare, grown_ports = _solve_from(bench, places, grown, ports, ())
        settled = ~np.isnan(bare).any(axis=1)
        ports[settled] = grown_ports[settled]
    late = np.flatnonzero(~settled)
    if len(late):
        bare[late], ports[late] = _solve_from(bench, places, m[late], ports[late], rungs)
    return bare, ports


def simulate_loading(bench: Bench, places, variants, bare, ports):
    """(`bare` as a meter of METER_OHMS shows it, Ω that hold each point for a small current); the first variant is the
    healthy kit. Only DC volts have a source worth loading, and only where a fault changes the reading does it change
    the source by much."""
    scaled, held = bare.copy(), np.zeros_like(bare)
    if bench.nominal is None:
        return scaled, held
    net, meters = with_meters(bench.net, places)
    if not meters:
        return scaled, held
    m = np.concatenate([variant.applied(net.parameters.nominal(), net) for variant in variants])
    m = np.concatenate((m, np.ones((len(m), len(meters)))), axis=1)
    start = np.where(np.isnan(ports), bench.operating.solution.ports, ports)
    opens = np.array([max(variant.factors, default=1.0) >= OPENS for variant in variants])
    moved = {n: np.flatnonzero(_mark_changed(bare[:, n]) | opens) for n in meters}
    blocks = []
    for n, column in meters.items():
        through = m[moved[n]]
        through[:, column] = METER_OHMS / NOWHERE
        blocks.append(through)
    through, starts = np.concatenate(blocks), np.concatenate([start[moved[n]] for n in meters])
    point = solve_operating_point(net, through, line=bench.operating.line, start=starts, strict=False, rungs=())
    at = 0
    for n in meters:
        rows = slice(at, at + len(moved[n]))
        shown, at = _reading(net, point, places[n], through)[rows], rows.stop
        share = shown[0] / bare[0, n] if abs(bare[0, n]) > LEAST_VOLTS and np.isfinite(shown[0]) else 1.0
        scaled[:, n] *= share
        scaled[moved[n], n] = np.where(np.isnan(shown), scaled[moved[n], n], shown)
        held[moved[n], n] = _holding_ohms(net, point, places[n], rows)
    return scaled, held


def _holding_ohms(net: Network, point: Operating, place, rows):
    """Ω that a small current finds between the ends of a place beside the meter there, with the devices at work."""
    solution = point.solution
    reduced, drive = solution.reduced.rows(rows), solution.drive[rows]
    _, slopes = flows(reduced, solution.ports[rows], reduced.m, drive)
    p, q = port_places(net)
    inward = np.zeros(net.size + 1)
    inward[net.node(place.probe.red)] += 1.0
    inward[net.node(place.probe.black)] -= 1.0
    matrix = conductances(net, reduced.m) - q @ slopes @ p
    matrix[np.isnan(matrix).any(axis=(1, 2))] = np.eye(net.size)
    ohms = np.linalg.solve(matrix, np.broadcast_to(inward[:-1, None], (len(matrix), net.size, 1)))[..., 0] @ inward[:-1]
    return 1 / np.maximum(1 / np.maximum(ohms, 1e-3) - 1 / METER_OHMS, 1 / LARGEST_SOURCE)


def _mark_changed(bare):
    """(variants,): whose reading is another than the healthy kit's, which is first; the healthy kit counts as well."""
    changed = ~(np.abs(bare - bare[0]) <= CHANGED * abs(bare[0]))
    changed[0] = True
    return changed


def with_meters(net: Network, places) -> tuple[Network, dict[int, int]]:
    """(the network with a resistance of NOWHERE across each place of DC volts, place number -> column of its
    multiplier). They come after the column that never varies, so that all the others stay where they are; and no
    rectifier is looked for again, which a meter across a winding would hide."""
    ends = {
        n: (net.node(place.probe.red), net.node(place.probe.black))
        for n, place in enumerate(places)
        if place.probe.measure == "dc volts"
    }
    across = {n: pair for n, pair in ends.items() if pair[0] != pair[1]}
    first = net.parameters.fixed + 1
    rows = tuple(Resistive("meter", "value", a, b, NOWHERE, first + k) for k, (a, b) in enumerate(across.values()))
    factors = (*(net.heater_factors or np.ones(first)), *np.ones(len(rows)))
    return replace(net, resistives=(*net.resistives, *rows), heater_factors=factors), {
        n: row.parameter for n, row in zip(across, rows, strict=True)
    }


def under_fault(condition, fault):
    """The condition with a fault's parts left out, or with the lamp left in series with the mains."""
    condition = replace(condition, not_fitted=condition.not_fitted | set(fault.without))
    if fault.lamp_watts and condition.power == "on" and not (condition.lamp_watts or condition.supply_volts):
        return replace(condition, lamp_watts=fault.lamp_watts)
    return condition
