"""Everything that is read under one condition: of the healthy kit, of every fault, and of every size of it."""

from dataclasses import dataclass, field

import numpy as np

from checks.circuit.prediction.probes import LEAST_AC, is_on, why_unpredicted
from checks.diagnosis.amplification import current_spreads
from checks.diagnosis.codes import Parasitic
from checks.diagnosis.cut_off import volts_over_grids
from checks.diagnosis.model_doubt import grid_volts
from checks.diagnosis.moments import like_healthy
from checks.diagnosis.parasitics import on_anodes, on_ends, on_tags
from checks.diagnosis.reuse import Benches, distinct_variants, without_passive
from checks.diagnosis.solving import (
    HEALTHY,
    LEAST_VOLTS,
    Bench,
    Variant,
    find_turned_on,
    simulate_loading,
    simulate_middles,
    simulate_scatter,
    under_fault,
)
from checks.diagnosis.stray_paths import with_paths
from checks.diagnosis.turned_diodes import with_turned
from checks.diagnosis.unsolved import why_no_figure
from checks.errors import ChecksError

LEAST_SIGNAL = 1e-3  # V, of a signal or ripple
# Joints make the network half as large again: only those faults that need them are solved with them.
JOINED = {Parasitic.JOINT: on_tags, Parasitic.END: on_ends, Parasitic.ANODE: on_anodes, Parasitic.PATH: with_paths}


@dataclass
class Solved:
    """Readings under one condition: `values` (F + 1, samples, places), `bare` and `loaded` (F + 1, places) of nominal
    parts, and the same of each size (K, places). `held` (F + 1, places) are the Ω that hold a point, where they are
    known; `over_grids` are as in cut_off.py. `reasons`: row -> why there is no figure, of the rows that have none
    somewhere."""

    places: list
    values: np.ndarray
    bare: np.ndarray
    loaded: np.ndarray
    held: np.ndarray
    size_row: np.ndarray
    size_bare: np.ndarray
    size_loaded: np.ndarray
    grid_volts: np.ndarray
    over_grids: np.ndarray
    turned_on: dict = field(default_factory=dict)  # diode -> (places,): does an ohmmeter bias it forward?
    current_spreads: dict = field(default_factory=dict)  # (valve, section) -> see amplification.py
    reasons: dict = field(default_factory=dict)

    def only(self, numbers) -> "Solved":
        arrays = (self.bare, self.loaded, self.held, self.size_bare, self.size_loaded)
        bare, loaded, held, size_bare, size_loaded = (a[:, numbers] for a in arrays)
        places = [self.places[n] for n in numbers]
        return Solved(
            places,
            self.values[:, :, numbers],
            bare,
            loaded,
            held,
            self.size_row,
            size_bare,
            size_loaded,
            self.grid_volts[numbers],
            self.over_grids[:, numbers],
            {ref: forward[numbers] for ref, forward in self.turned_on.items()},
            self.current_spreads,
            self.reasons,
        )


def solve_condition(parts, condition, requested, faults, samples, seed, metered=True, benches=None) -> Solved:
    benches = benches or Benches()
    bench = benches.bench(parts, condition)
    places = [p for p in requested if is_on(bench.net, p.probe) and not why_unpredicted(p.probe, bench.net)]
    solved = _empty(places, faults, samples)
    if not places:
        return solved
    if metered:
        solved.grid_volts[:] = grid_volts(parts, condition, places)
        solved.current_spreads = current_spreads(bench)
        if bench.nominal is None:
            solved.turned_on = find_turned_on(bench, places)
    loose = {what: [n for n, f in enumerate(faults) if f.loosens(what)] for what in JOINED}
    apart = {n for which in loose.values() for n in which}
    plain = [n for n, f in enumerate(faults) if not (f.without or f.lamp_watts or f.turned or n in apart)]
    _fill(solved, bench, faults, plain, samples, seed, metered)
    for what, which in loose.items():
        if which:
            joined = benches.bench(JOINED[what](parts), condition, what, bench)
            _fill(solved, joined, faults, which, samples, seed, metered, what is Parasitic.PATH)
    for n, fault in enumerate(faults):
        if fault.without or fault.lamp_watts or fault.turned:
            _fill_apart(solved, benches, bench, faults, n, samples, seed)
    for n, fault in enumerate(faults):
        _without_ac(solved, bench.net, n + 1, fault)
        _with_half_ac(solved, bench.net, n + 1, fault)
    if metered:
        solved.over_grids = volts_over_grids(parts, bench.net, places, solved.loaded)
    # Alternating volts that no winding makes come from a signal, of which the circuit knows nothing.
    least = [
        p.probe.measure != "ac volts" or np.nanmedian(solved.values[0, :, n]) >= _least(condition)
        for n, p in enumerate(places)
    ]
    return solved.only(np.flatnonzero(least))


def _fill_apart(solved: Solved, benches: Benches, bench: Bench, faults, n: int, samples, seed) -> None:
    """A fault that needs another network: without a part, or with a lamp. What stays without a solution is NaN."""
    fault, condition = faults[n], bench.net.condition
    if fault.turned:
        _fill_turned(solved, benches, bench, faults, n, samples, seed)
        return
    under = under_fault(condition, fault)
    same = under == condition
    try:
        alone = None if same or fault.lamp_watts else without_passive(bench, under)
        if same or (alone and condition.signal is None and not fault.moves):
            for rows in (solved.values, solved.bare, solved.loaded, solved.held):
                rows[n + 1] = rows[0]
            return
        _fill(solved, alone or benches.bench(bench.parts, under), faults, [n], samples, seed, False)
    except ChecksError as error:
        solved.reasons[n + 1] = error


def _fill_turned(solved: Solved, benches: Benches, bench: Bench, faults, n: int, samples, seed) -> None:
    """A diode the wrong way round: with the power off it is solved by what an ohmmeter finds through it."""
    fault, condition, alone = faults[n], bench.net.condition, bench
    try:
        if bench.nominal is not None and condition.not_fitted.isdisjoint(fault.turned):
            alone = benches.bench(with_turned(bench.parts, fault.turned), condition, fault.key)
        _fill(solved, alone, faults, [n], samples, seed, False)
    except ChecksError as error:
        solved.reasons[n + 1] = error


def _least(condition) -> float:
    """Volts below which an AC reading says nothing: of a winding's, or of what a signal makes."""
    return LEAST_AC if condition.signal is None else LEAST_SIGNAL


def _empty(places, faults, samples) -> Solved:
    rows, count = len(faults) + 1, len(places)
    size_row = np.array([n + 1 for n, f in enumerate(faults) if f.comes_in_sizes for _ in f.at_sizes()], dtype=int)

    def nothing(*shape):
        return np.full((*shape, count), np.nan)

    return Solved(
        places,
        nothing(rows, samples),
        nothing(rows),
        nothing(rows),
        np.zeros((rows, count)),
        size_row,
        nothing(len(size_row)),
        nothing(len(size_row)),
        np.zeros(count),
        nothing(rows),
    )


def _fill(solved: Solved, bench: Bench, faults, which, samples, seed, metered, bare_only=False) -> None:
    """Solve the faults numbered in `which` on a bench; the healthy kit goes first, and is kept from the first bench.
    `bare_only`: a meter leaves of their readings what it leaves of a healthy kit's."""
    variants, at_once = distinct_variants([HEALTHY, *(Variant.of(faults[n]) for n in which)], bench.net)
    every = [Variant.of(faults[n], at) for n in which if faults[n].comes_in_sizes for at in faults[n].at_sizes()]
    (_healthy, *sizes), back = distinct_variants(every, bench.net)
    bare, ports = _together(
        simulate_middles(bench, solved.places, variants),
        simulate_middles(bench, solved.places, sizes, rungs=()) if sizes else None,
    )
    if metered and not bare_only:
        through, held = simulate_loading(bench, solved.places, [*variants, *sizes], bare, ports)
    else:
        through, held = bare * _ratio(solved, bare), np.zeros_like(bare)
    first = 0 if np.isnan(solved.bare[0]).all() else 1
    rows = [0, *(n + 1 for n in which)][first:]
    own = at_once[first:]
    sampled = [k for k, row in enumerate(rows) if row == 0 or not (metered and faults[row - 1].comes_in_sizes)]
    if bench.net.condition.signal is not None:  # a signal's parts scatter beside a fault as they do without
        sampled = [k for k in sampled if rows[k] == 0]
    numbers = np.unique(own[sampled])
    begin = None if ports is None else ports[numbers]
    drawn = simulate_scatter(bench, solved.places, [variants[k] for k in numbers], begin, samples, seed)
    solved.values[[rows[k] for k in sampled]] = drawn[np.searchsorted(numbers, own[sampled])]
    solved.bare[rows], solved.loaded[rows], solved.held[rows] = bare[own], through[own], held[own]
    for row in rows:
        if why := why_no_figure(solved.places, solved.bare[row], bench.net):
            solved.reasons[row] = why
    if bench.net.condition.signal is not None:  # what a bench without a part reads itself is no healthy reading
        solved.values[rows] = like_healthy(solved.values[0], solved.bare[0], solved.bare[rows])
    at = np.flatnonzero(np.isin(solved.size_row, [n + 1 for n in which]))
    of_sizes = np.where(back > 0, back + len(variants) - 1, 0)
    solved.size_bare[at], solved.size_loaded[at] = bare[of_sizes], through[of_sizes]


def _together(one, two):
    if two is None:
        return one
    (bare, ports), (size_bare, size_ports) = one, two
    return np.concatenate((bare, size_bare)), None if ports is None else np.concatenate((ports, size_ports))


def _ratio(solved: Solved, bare):
    """What a meter leaves of a healthy kit's readings: all that is assumed where no meter was put into the circuit."""
    if np.isnan(solved.bare[0]).all():
        return 1.0
    return 1.0 / find_correction(solved.bare[0], solved.loaded[0])


def _without_ac(solved: Solved, net, row: int, fault) -> None:
    """Nothing where no alternating volts come any more: at a heater, a winding's end or a pin."""
    dead = {net.nodes.get(point, point) for point in fault.no_ac}
    for n, place in enumerate(solved.places):
        red = place.probe.red
        heater = any(red.startswith(f"{ref}.") for ref in fault.dead_heaters)
        if place.probe.measure == "ac volts" and (heater or red in dead or net.node(red) in dead):
            solved.values[row, :, n] = solved.bare[row, n] = solved.loaded[row, n] = 0.0


def _with_half_ac(solved: Solved, net, row: int, fault) -> None:
    """Where a turned diode shorts every other half cycle, a meter's mean is that of the other and of what is left."""
    if not fault.half_ac or not net.condition.not_fitted.isdisjoint(fault.refs):
        return
    at = {net.nodes.get(point, point) for point in fault.half_ac}
    rows = np.flatnonzero(solved.size_row == row)
    left = np.array(fault.sizes)
    for n, place in enumerate(solved.places):
        ends = {net.node(place.probe.red), net.node(place.probe.black)}
        if place.probe.measure == "ac volts" and net.condition.signal is None and ends & at:
            share = (1 + left) / 2
            solved.size_bare[rows, n] = solved.bare[0, n] * share
            solved.size_loaded[rows, n] = solved.loaded[0, n] * share


def find_correction(bare, loaded):
    """What a bench corrects a reading by: a healthy kit's reading without its meter over that with it."""
    sure = (np.abs(loaded) > LEAST_VOLTS) & np.isfinite(bare)
    return np.where(sure, bare / np.where(sure, loaded, 1.0), 1.0)
