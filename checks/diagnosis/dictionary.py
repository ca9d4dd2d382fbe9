"""What every check would read under every fault: means, scatter, and how readings move together. Prepared once per
circuit."""

from dataclasses import dataclass, field

import numpy as np

from checks.circuit.prediction.probes import LEAST_AC, OHMS, UNITS, why_not
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.conditions import before_power, conditions_of, present
from checks.diagnosis.diodes import through_diodes
from checks.diagnosis.extras import with_extras
from checks.diagnosis.fault import Fault
from checks.diagnosis.listing import fault_list
from checks.diagnosis.model_doubt import GRID_DRIFT, doubted, grid_volts
from checks.diagnosis.moments import like_healthy, middle, moments, spans
from checks.diagnosis.parasitics import on_anodes, on_ends, on_tags, parasitics
from checks.diagnosis.place import Place
from checks.diagnosis.prior_weights import LATE
from checks.diagnosis.reading_scale import PART, SIGNAL_UNIT, to_scale, unit_of
from checks.diagnosis.solving import (
    HEALTHY,
    LEAST_VOLTS,
    METER_OHMS,
    Bench,
    Variant,
    loaded,
    middles,
    scattered,
    turned_on,
    under_fault,
)
from checks.diagnosis.supply_faults import lamp_left_in
from checks.errors import ChecksError

SAMPLES = 64
LARGEST_SOURCE = 1e11  # Ω
LEAST_SIGNAL = 1e-3  # V, of a signal or ripple
# Joints make the network half as large again: only those faults that need them are solved with them.
JOINED = {Parasitic.JOINT: on_tags, Parasitic.END: on_ends, Parasitic.ANODE: on_anodes}


@dataclass(frozen=True)
class Prepared:
    """Faults and what they read. Row 0 of `mean` and `cov` is the healthy kit; row n + 1 is faults[n].

    `mean` (F + 1, n) and `cov` (F + 1, n, n) are on the scale of reading_scale.py with `units` (n,); `nominal` (n,) in
    SI, `exponents` (n,). `source` (F + 1, n) is the resistance in Ω that a meter loads; readings are those of
    METER_OHMS, corrected for its load on sources of `corrected` (n,) Ω, by default those of a healthy kit. NaN where a
    fault's circuit has no solution.

    `early` (n,) are read before the kit's first power; a fault appears only with that, by the chance `late` (F + 1,).
    Of the faults in `split` (F + 1,) the size with the power on is not that with it off. `drift` (n,) is how far grids
    may drift beside a fault, on the scale. At places `turned_on` (n,) an ohmmeter with enough volts of its own finds
    its way through a good diode.

    Faults that come in all sizes are a mixture: `size_row` (K,) says whose each size is, `size_mean` (K, n) what it
    reads, `size_span` (K, n) how far that goes within its share of the range, as a standard deviation along a
    direction. Their rows of `mean` and `cov` are the mixture's; `scatter` (F + 1, n, n) is that of good parts alone.
    """

    faults: tuple[Fault, ...]
    places: tuple[Place, ...]
    units: np.ndarray
    nominal: np.ndarray
    exponents: np.ndarray
    mean: np.ndarray
    scatter: np.ndarray
    source: np.ndarray
    size_row: np.ndarray
    size_mean: np.ndarray
    size_span: np.ndarray
    early: np.ndarray
    late: np.ndarray
    split: np.ndarray
    drift: np.ndarray
    turned_on: np.ndarray
    corrected: np.ndarray | None = None

    @property
    def index(self) -> dict[str, int]:
        return {place.name: n for n, place in enumerate(self.places)}

    @property
    def cov(self) -> np.ndarray:
        """(F + 1, n, n): scatter and, of faults that come in all sizes, how their sizes differ."""
        if "_cov" not in self.__dict__:
            whole = self.scatter.copy()
            for row in np.unique(self.size_row):
                apart = self.size_mean[self.size_row == row] - self.mean[row]
                whole[row] += np.nan_to_num(apart.T @ apart / max(1, len(apart)))
            object.__setattr__(self, "_cov", whole)
        return self.__dict__["_cov"]


def prepare(
    parts,
    stages,
    mains: dict | None = None,
    *,
    faults=None,
    samples: int = SAMPLES,
    seed: int = 7,
    report=lambda done, total, step="", **params: None,
) -> Prepared:
    """Solve every fault under every stage's condition. `stages` are mappings with key, power, not_fitted, supply,
    checks (key, red, black, measure, through) and, where it is known, `waiting`: the parts that only later stages
    solder in. Raises ChecksError for a circuit that cannot be solved healthy."""
    parts = list(parts)
    faults = tuple(fault_list(parts) if faults is None else faults)
    circuit = [*parts, *parasitics(parts)]
    solved, places = [], []
    groups = with_extras(parts, conditions_of(stages, mains, circuit), mains)
    faults += tuple(lamp_left_in(parts, [condition for condition, _places in groups]))
    for number, (condition, wanted) in enumerate(groups):
        report(number, len(groups), "condition", number=number + 1, count=len(groups))
        raw = _solve(present(circuit, condition), condition, wanted, faults, samples, seed)
        places += raw.places
        solved.append(raw)
    report(len(groups), len(groups))
    return _summed(faults, tuple(places), solved, before_power(stages, places))


def one_build(parts, stages, mains, seed: int, faults=()) -> dict[str, float]:
    """{"stage/check": value at the reference} of one good build drawn with `seed`, with `faults` in it. For
    demonstrations."""
    parts = list(parts)
    together = Fault("drawn", "drawn", "drawn", (), 1.0, tuple(m for f in faults for m in f.moves)) if faults else None
    values: dict[str, float] = {}
    for condition, wanted in conditions_of(stages, mains):
        solved = _solve(
            present([*parts, *parasitics(parts)], condition),
            condition,
            wanted,
            (together,) if together else (),
            1,
            seed,
            False,
        )
        values |= {p.name: float(v) for p, v in zip(solved.places, solved.values[-1, 0], strict=True)}
    return values


@dataclass
class _Solved:
    """Readings under one condition: `values` (F + 1, samples, places), `bare` and `loaded` (F + 1, places) of nominal
    parts, and the same of each size (K, places)."""

    places: list
    values: np.ndarray
    bare: np.ndarray
    loaded: np.ndarray
    size_row: np.ndarray
    size_bare: np.ndarray
    size_loaded: np.ndarray
    grid_volts: np.ndarray
    turned_on: dict = field(default_factory=dict)  # diode -> (places,): does an ohmmeter bias it forward?

    def only(self, kept) -> "_Solved":
        arrays = (self.bare, self.loaded, self.size_bare, self.size_loaded)
        bare, loaded, size_bare, size_loaded = (a[:, kept] for a in arrays)
        places = [self.places[n] for n in kept]
        return _Solved(
            places,
            self.values[:, :, kept],
            bare,
            loaded,
            self.size_row,
            size_bare,
            size_loaded,
            self.grid_volts[kept],
            {ref: forward[kept] for ref, forward in self.turned_on.items()},
        )


def _solve(parts, condition, wanted, faults, samples, seed, metered=True) -> _Solved:
    bench = Bench.of(parts, condition)
    places = [p for p in wanted if not why_not(p.probe, bench.net)]
    solved = _empty(places, faults, samples)
    if not places:
        return solved
    if metered:
        solved.grid_volts[:] = grid_volts(parts, condition, places)
        if bench.nominal is None:
            solved.turned_on = turned_on(bench, places)
    loose = {what: [n for n, f in enumerate(faults) if f.loosens(what)] for what in JOINED}
    apart = {n for which in loose.values() for n in which}
    plain = [n for n, f in enumerate(faults) if not (f.without or f.lamp_watts or n in apart)]
    _fill(solved, bench, faults, plain, samples, seed, metered)
    for what, which in loose.items():
        if which:
            joined = Bench.of(JOINED[what](parts), condition)
            _fill(solved, joined, faults, which, samples, seed, metered and what is Parasitic.JOINT)
    for n, fault in enumerate(faults):
        if fault.without or fault.lamp_watts:
            try:
                alone = Bench.of(parts, under_fault(condition, fault))
                _fill(solved, alone, faults, [n], samples, seed, False)
            except ChecksError:
                continue
    for n, fault in enumerate(faults):
        _without_ac(solved, bench.net, n + 1, fault)
    # Alternating volts that no winding makes come from a signal, of which the circuit knows nothing.
    least = [
        p.probe.measure != "ac volts" or np.nanmedian(solved.values[0, :, n]) >= _least(condition)
        for n, p in enumerate(places)
    ]
    return solved.only(np.flatnonzero(least))


def _least(condition) -> float:
    """Volts below which an AC reading says nothing: of a winding's, or of what a signal makes."""
    return LEAST_AC if condition.signal is None else LEAST_SIGNAL


def _empty(places, faults, samples) -> _Solved:
    rows, count = len(faults) + 1, len(places)
    size_row = np.array([n + 1 for n, f in enumerate(faults) if f.comes_in_sizes for _ in f.at_sizes()], dtype=int)

    def nothing(*shape):
        return np.full((*shape, count), np.nan)

    return _Solved(
        places,
        nothing(rows, samples),
        nothing(rows),
        nothing(rows),
        size_row,
        nothing(len(size_row)),
        nothing(len(size_row)),
        np.zeros(count),
    )


def _fill(solved: _Solved, bench: Bench, faults, which, samples, seed, metered) -> None:
    """Solve the faults numbered in `which` on a bench; the healthy kit goes first, and is kept from the first bench."""
    variants = [HEALTHY, *(Variant.of(faults[n]) for n in which)]
    sizes = [
        Variant.of(faults[n], factors) for n in which if faults[n].comes_in_sizes for factors in faults[n].at_sizes()
    ]
    bare, ports = _together(
        middles(bench, solved.places, variants), middles(bench, solved.places, sizes, rungs=()) if sizes else None
    )
    through = loaded(bench, solved.places, [*variants, *sizes], bare, ports) if metered else bare * _ratio(solved, bare)
    first = 0 if np.isnan(solved.bare[0]).all() else 1
    rows = [0, *(n + 1 for n in which)][first:]
    sampled = [k for k, row in enumerate(rows) if row == 0 or not (metered and faults[row - 1].comes_in_sizes)]
    if bench.net.condition.signal is not None:  # a signal's parts scatter beside a fault as they do without
        sampled = [k for k in sampled if rows[k] == 0]
    drawn = [variants[first + k] for k in sampled]
    begin = None if ports is None else ports[first + np.array(sampled, dtype=int)]
    solved.values[[rows[k] for k in sampled]] = scattered(bench, solved.places, drawn, begin, samples, seed)
    solved.bare[rows], solved.loaded[rows] = bare[first : len(variants)], through[first : len(variants)]
    if bench.net.condition.signal is not None:  # what a bench without a part reads itself is no healthy reading
        solved.values[rows] = like_healthy(solved.values[0], solved.bare[0], solved.bare[rows])
    at = np.flatnonzero(np.isin(solved.size_row, [n + 1 for n in which]))
    solved.size_bare[at], solved.size_loaded[at] = bare[len(variants) :], through[len(variants) :]


def _together(one, two):
    if two is None:
        return one
    (bare, ports), (size_bare, size_ports) = one, two
    return np.concatenate((bare, size_bare)), None if ports is None else np.concatenate((ports, size_ports))


def _ratio(solved: _Solved, bare):
    """What a meter leaves of a healthy kit's readings: all that is assumed where no meter was put into the circuit."""
    if np.isnan(solved.bare[0]).all():
        return 1.0
    return 1.0 / _correction(solved.bare[0], solved.loaded[0])


def _without_ac(solved: _Solved, net, row: int, fault) -> None:
    """Nothing where no alternating volts come any more: at a heater, a winding's end or a pin."""
    dead = {net.nodes.get(point, point) for point in fault.no_ac}
    for n, place in enumerate(solved.places):
        red = place.probe.red
        heater = any(red.startswith(f"{ref}.") for ref in fault.dead_heaters)
        if place.probe.measure == "ac volts" and (heater or red in dead or net.node(red) in dead):
            solved.values[row, :, n] = solved.bare[row, n] = solved.loaded[row, n] = 0.0


def _summed(faults, places, solved, early) -> Prepared:
    values = np.concatenate([one.values for one in solved], axis=2)  # (faults + 1, samples, places)
    bare, loaded, size_bare, size_loaded = (
        np.concatenate([getattr(one, name) for one in solved], axis=1)
        for name in ("bare", "loaded", "size_bare", "size_loaded")
    )
    nominal = np.nanmedian(values[0], axis=0)
    units = np.array([_unit(v, p) for v, p in zip(nominal, places, strict=True)])
    at_grids = np.concatenate([one.grid_volts for one in solved])
    mean, scatter = moments(to_scale(values, units), units, at_grids)
    correction = _correction(bare[0], loaded[0])
    mean = mean + to_scale(loaded * correction, units) - to_scale(bare, units)
    size_mean, size_row = to_scale(size_loaded * correction, units), solved[0].size_row
    # A size is solved with nominal parts: bring it to where the builds of a healthy kit lie.
    size_mean = size_mean + np.where(np.abs(size_mean) > 1, mean[0] - to_scale(bare[0], units), 0.0)
    through = through_diodes(faults, solved, mean, scatter, size_row, size_mean)
    for row in np.unique(size_row):
        own = size_mean[size_row == row]
        mean[row] = middle(own)
        scatter[row] = scatter[0]
    exponents = np.where([p.probe.measure in OHMS for p in places], 0.0, 1.0)
    source = _source(bare, loaded)
    drift = np.where(at_grids > 0, GRID_DRIFT / units, 0.0)
    scatter = doubted(scatter, mean, source, places, drift)
    steps = spans(faults, size_row, size_mean)
    late = np.array([0.0, *(LATE.get(fault.code, 0.0) for fault in faults)])
    split = np.array([False, *(fault.code is FaultCode.CAPACITOR_REVERSED for fault in faults)])
    return Prepared(
        faults,
        places,
        units,
        nominal,
        exponents,
        mean,
        scatter,
        source,
        size_row,
        size_mean,
        steps,
        early,
        late,
        split,
        drift,
        through,
    )


def _unit(nominal: float, place: Place) -> float:
    """Signals are read on a range of their own: near zero a meter shows fractions of a millivolt."""
    unit = UNITS[place.probe.measure]
    return max(SIGNAL_UNIT, PART * abs(nominal)) if place.probe.under else unit_of(nominal, unit)


def _correction(bare, loaded):
    """What a bench corrects a reading by: a healthy kit's reading without its meter over that with it."""
    sure = (np.abs(loaded) > LEAST_VOLTS) & np.isfinite(bare)
    return np.where(sure, bare / np.where(sure, loaded, 1.0), 1.0)


def _source(bare, loaded):
    """Ω that the meter loads: R (bare / loaded - 1)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ohms = METER_OHMS * (np.abs(bare) / np.maximum(np.abs(loaded), 1e-9) - 1.0)
    return np.nan_to_num(np.clip(np.where(np.abs(bare) > LEAST_VOLTS, ohms, 0.0), 0.0, LARGEST_SOURCE))
