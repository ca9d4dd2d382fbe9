"""What every check would read under every fault: means, scatter, and how readings move together. Prepared once per
circuit."""

import warnings
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from checks.circuit.assemble.network import network_of
from checks.circuit.netlist.conditions import condition_of
from checks.circuit.prediction.probes import LEAST_AC, OHMS, UNITS, Probe, why_not
from checks.circuit.solver.conductances import conductances
from checks.circuit.solver.operating_point import operate, settle
from checks.diagnosis.codes import Parasitic
from checks.diagnosis.extras import LINE, with_extras
from checks.diagnosis.fault import Fault
from checks.diagnosis.listing import fault_list
from checks.diagnosis.parasitics import on_tags, phantoms
from checks.diagnosis.place import Place
from checks.diagnosis.reading_scale import OFFSET, OPEN_OHMS, slope, to_scale, unit_of
from checks.errors import ChecksError

SAMPLES = 96
CHUNK = 1500
DISCREPANCY = 0.015  # of a reading: what the model itself may be off by (its residuals against data sheets)
SHRINK = 0.9  # of sample correlations, which so few samples exaggerate
CAN = ("dc volts", "ac volts", "resistance", "continuity", "isolation", "current")


@dataclass(frozen=True)
class Prepared:
    """Faults and what they read. Row 0 of `mean` and `cov` is the healthy kit; row n + 1 is faults[n].

    `mean` (F + 1, n) and `cov` (F + 1, n, n) are on the scale of space.py with `units` (n,); `nominal` (n,) in SI,
    `exponents` (n,). NaN where a fault's circuit has no solution.
    """

    faults: tuple[Fault, ...]
    places: tuple[Place, ...]
    units: np.ndarray
    nominal: np.ndarray
    exponents: np.ndarray
    mean: np.ndarray
    cov: np.ndarray

    @property
    def index(self) -> dict[str, int]:
        return {place.name: n for n, place in enumerate(self.places)}


def prepare(
    parts,
    stages,
    mains: dict | None = None,
    *,
    faults=None,
    samples: int = SAMPLES,
    seed: int = 7,
    report=lambda done, total, words="": None,
) -> Prepared:
    """Solve every fault under every stage's condition. `stages` are mappings with key, power, not_fitted, supply and
    checks (key, red, black, measure, through). Raises ChecksError for a circuit that cannot be solved healthy."""
    parts = list(parts)
    faults = tuple(fault_list(parts) if faults is None else faults)
    circuit = [*parts, *phantoms(parts)]
    rows, places = [], []
    groups = with_extras(parts, _conditions(stages, mains), mains)
    for number, (condition, here) in enumerate(groups):
        report(number, len(groups), f"condition {number + 1} of {len(groups)}")
        kept, values = _solve(circuit, condition, here, faults, samples, seed)
        places += kept
        rows.append(values)
    report(len(groups), len(groups))
    values = np.concatenate(rows, axis=2)  # (faults + 1, samples, places)
    return _summed(faults, tuple(places), values)


def one_build(parts, stages, mains, seed: int, faults=()) -> dict[str, float]:
    """{"stage/check": value at the reference} of one good build drawn with `seed`, with `faults` in it. For
    demonstrations."""
    parts = list(parts)
    together = Fault("drawn", "drawn", "drawn", (), 1.0, tuple(m for f in faults for m in f.moves)) if faults else None
    found = {}
    for condition, here in _conditions(stages, mains):
        places, values = _solve([*parts, *phantoms(parts)], condition, here, (together,) if together else (), 1, seed)
        found |= {p.name: float(v) for p, v in zip(places, values[-1, 0], strict=True)}
    return found


def _conditions(stages, mains):
    """[(condition, places)]: stages under the same condition are solved together."""
    found = {}
    for stage in stages:
        condition = replace(condition_of(stage, mains), line_spread=LINE)
        for check in stage["checks"]:
            if check["measure"] in CAN and not (check["red"].startswith("=") or check["black"].startswith("=")):
                probe = Probe(check["red"], check["black"], check["measure"], check.get("through") or "")
                found.setdefault(condition, []).append(
                    Place(stage["key"], check["key"], probe, condition.power, check.get("title") or check["key"])
                )
    return list(found.items())


def _solve(parts, condition, places, faults, samples, seed):
    """(places that can be read, values (faults + 1, samples, places))."""
    net = network_of(parts, condition)
    places = [p for p in places if not why_not(p.probe, net)]
    values = np.full((len(faults) + 1, samples, len(places)), np.nan)
    loose = [n for n, f in enumerate(faults) if f.loosens]
    plain = [n for n, f in enumerate(faults) if not (f.without or f.loosens)]
    values[[0, *(n + 1 for n in plain)]] = _blocks(net, places, [None, *(faults[n] for n in plain)], samples, seed)
    if loose:  # joints make the network half as large again: only those faults that need them are solved with them
        tagged = network_of(on_tags(parts), condition)
        values[[n + 1 for n in loose]] = _blocks(tagged, places, [faults[n] for n in loose], samples, seed)
    for n, fault in enumerate(faults):
        if fault.without:
            values[n + 1] = _apart(parts, condition, places, fault, samples, seed)
        _dead_heaters(values[n + 1], places, fault)
    # Alternating volts that no winding makes come from a signal, of which the circuit knows nothing.
    kept = [
        n for n, p in enumerate(places) if p.probe.measure != "ac volts" or np.nanmedian(values[0, :, n]) >= LEAST_AC
    ]
    return [places[n] for n in kept], values[:, :, kept]


def _blocks(net, places, faults, samples, seed):
    """(faults, samples, places) of one network; a fault that is None is a healthy kit."""
    base = net.parameters.draw(samples, seed)
    stacked = np.concatenate([_moved(base, net, fault) if fault else base for fault in faults])
    return _read_all(net, places, stacked, samples).reshape(len(faults), samples, len(places))


def _moved(base, net, fault: Fault):
    m = base.copy()
    for move in fault.moves:
        if move.part_of is Parasitic.GAS and not net.condition.not_fitted.isdisjoint(fault.refs):
            continue  # the gas is in the valve, and the valve in its box
        column = net.parameters.index(move.ref, move.what)
        if column != net.parameters.fixed:
            m[:, column] *= move.sized(_sizes(len(m), fault.key)) if move.decades else move.factor
    return m


def _sizes(samples: int, key: str):
    """(samples,) from -1 to 1, evenly, in an order of the fault's own: the same under every condition, since it is one
    build."""
    return np.random.default_rng(crc32(key.encode())).permutation(np.linspace(-1, 1, samples))


def _apart(parts, condition, places, fault, samples, seed):
    """A fault that takes parts out has a network of its own."""
    condition = replace(condition, not_fitted=condition.not_fitted | set(fault.without))
    try:
        net = network_of(parts, condition)
        return _read_all(net, places, net.parameters.draw(samples, seed), samples)
    except ChecksError:
        return np.full((samples, len(places)), np.nan)


def _dead_heaters(values, places, fault):
    for n, place in enumerate(places):
        if place.probe.measure == "ac volts" and any(
            place.probe.red.startswith(f"{ref}.") for ref in fault.dead_heaters
        ):
            values[:, n] = 0.0


def _read_all(net, places, m, samples: int):
    """(len(m), places) in SI, m in blocks of `samples` a fault; over range is OPEN_OHMS, what does not settle NaN."""
    if not places:
        return np.zeros((len(m), 0))
    if net.condition.power == "off":
        return np.concatenate([_ohms(net, places, m[n : n + CHUNK]) for n in range(0, len(m), CHUNK)])
    net, nominal = settle(net)
    # Each fault is first solved in the middle of its scatter, which is hard work for some; its builds then begin close
    # by.
    middles = np.median(m.reshape(-1, samples, m.shape[1]), axis=1)
    start = operate(
        net, middles, line=nominal.line, start=nominal.solution.ports, strict=False, rungs=(20,)
    ).solution.ports
    starts = np.repeat(start, samples, axis=0)
    rows = [_volts(net, nominal.line, places, m[n : n + CHUNK], starts[n : n + CHUNK]) for n in range(0, len(m), CHUNK)]
    return np.concatenate(rows)


def _volts(net, line, places, m, start):
    point = operate(net, m, line=line, start=start, strict=False, rungs=())
    columns = []
    for place in places:
        red, black = net.node(place.probe.red), net.node(place.probe.black)
        if place.probe.measure == "ac volts":
            columns.append(np.abs(point.ac[:, red] - point.ac[:, black]))
            continue
        volts = point.volts[:, red] - point.volts[:, black]
        columns.append(volts / _through(net, place, m) if place.probe.measure == "current" else volts)
    return np.stack(columns, axis=1)


def _through(net, place, m):
    """A current is told by its volts over the resistor the builder believes in: the nominal one."""
    row = next(r for r in net.resistives if r.ref == place.probe.through)
    return np.full(len(m), row.ohms)


def _ohms(net, places, m):
    g = conductances(net, m)
    inward = np.zeros((net.size + 1, len(places)))
    ends = [(net.node(p.probe.red), net.node(p.probe.black)) for p in places]
    for n, (red, black) in enumerate(ends):
        inward[red, n] += 1.0
        inward[black, n] -= 1.0
    volts = np.linalg.solve(g, np.broadcast_to(inward[:-1], (len(g), net.size, len(places))))
    volts = np.concatenate((volts, np.zeros((len(g), 1, len(places)))), axis=1)
    found = np.stack([volts[:, red, n] - volts[:, black, n] for n, (red, black) in enumerate(ends)], axis=1)
    return np.minimum(np.maximum(found, 0.0), OPEN_OHMS)


def _summed(faults, places, values) -> Prepared:
    nominal = np.nanmedian(values[0], axis=0)
    units = np.array([unit_of(v, UNITS[p.probe.measure]) for v, p in zip(nominal, places, strict=True)])
    scaled = to_scale(values, units)
    with warnings.catch_warnings():  # a fault without a solution has no readings, and NaN for their mean
        warnings.simplefilter("ignore", RuntimeWarning)
        mean = np.nanmean(scaled, axis=1)
    apart = np.nan_to_num(scaled - mean[:, None, :])
    cov = SHRINK * np.einsum("fsi,fsj->fij", apart, apart) / (values.shape[1] - 1)
    diagonal = np.arange(cov.shape[1])
    cov[:, diagonal, diagonal] /= SHRINK
    middle = np.sinh(mean) * units
    off = np.hypot(DISCREPANCY * middle, OFFSET * units) * slope(middle, units)
    cov[:, diagonal, diagonal] += np.nan_to_num(off) ** 2
    measures = [OHMS.__contains__(p.probe.measure) for p in places]
    exponents = np.where(measures, 0.0, 1.0)
    return Prepared(faults, places, units, nominal, exponents, mean, cov)
